//! Ten waveforms of a generator: the ideal curve at 4 kV with stated noise.

use super::noise::Noise;

/// Noise of the oscilloscope, root mean square, in amperes.
const NOISE_A: f64 = 0.04;
/// Spread of the generator from shot to shot.
const SPREAD: f64 = 0.012;
const STEP_NS: f64 = 0.1;
const START_NS: f64 = -5.0;
const SAMPLES: usize = 801;

/// Those of the settled job were recorded a week later: no curve is the same again.
pub(super) fn all(settled: bool) -> Vec<(String, Vec<u8>)> {
    let mut files = Vec::new();
    for (sign, name) in [(1.0, "pos"), (-1.0, "neg")] {
        for number in 1..=5u64 {
            let mut noise =
                Noise::new(number + if sign > 0.0 { 100 } else { 200 } + if settled { 1000 } else { 0 });
            let size = sign * (1.0 + SPREAD * noise.normal());
            let late = noise.even() * STEP_NS;
            let mut text = format!(
                "# waveform of generator G-1, contact, {}4 kV (invented: ideal curve, noise {NOISE_A} A rms)\ntime_ns,current_A\n",
                if sign > 0.0 { '+' } else { '-' }
            );
            for k in 0..SAMPLES {
                let time = START_NS + k as f64 * STEP_NS;
                let current = size * ideal(time - late) + NOISE_A * noise.normal();
                text += &format!("{time:.1},{current:.3}\n");
            }
            files.push((format!("{name}-{number}.csv"), text.into_bytes()));
        }
    }
    files
}

/// Current of the ideal contact discharge at 4 kV, in amperes, at a time in nanoseconds.
///
/// Formula of IEC 61000-4-2:2008 with its constants, as an open data-set script carries them.
fn ideal(t: f64) -> f64 {
    if t <= 0.0 {
        return 0.0;
    }
    let (i1, i2, t1, t2, t3, t4, n) = (16.6, 9.3, 1.1, 2.0, 12.0, 37.0, 1.8f64);
    let k = |rise: f64, fall: f64| (-(rise / fall) * (n * fall / rise).powf(1.0 / n)).exp();
    let part = |peak: f64, rise: f64, fall: f64| {
        let x = (t / rise).powf(n);
        peak / k(rise, fall) * x / (1.0 + x) * (-t / fall).exp()
    };
    part(i1, t1, t2) + part(i2, t3, t4)
}
