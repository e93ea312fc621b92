//! Numerical integration over a finite interval.

/// An integral and how far the last refinement still changed it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Integral {
    /// The integral.
    pub value: f64,
    /// Sum of the changes that the last refinement of each panel made; an estimate of the error, seldom too small.
    pub change: f64,
}

/// Nodes and weights on -1 to 1, the positive half; Gauss's rule with 16 points.
const RULE: [(f64, f64); 8] = [
    (0.095_012_509_837_637_44, 0.189_450_610_455_068_5),
    (0.281_603_550_779_258_9, 0.182_603_415_044_923_6),
    (0.458_016_777_657_227_4, 0.169_156_519_395_002_54),
    (0.617_876_244_402_643_7, 0.149_595_988_816_576_74),
    (0.755_404_408_355_003, 0.124_628_971_255_533_88),
    (0.865_631_202_387_831_7, 0.095_158_511_682_492_78),
    (0.944_575_023_073_232_6, 0.062_253_523_938_647_894),
    (0.989_400_934_991_649_9, 0.027_152_459_411_754_095),
];

/// Halvings of a panel before it is taken as it is.
const DEPTH: u32 = 24;

/// The integral of `f` over each panel between neighbouring `breaks` (rising; put one wherever f bends sharply), to
/// `tolerance` times the interval's share, by Gauss's rule with halving.
pub fn integrate(f: &impl Fn(f64) -> f64, breaks: &[f64], tolerance: f64) -> Integral {
    let mut total = Integral { value: 0.0, change: 0.0 };
    for pair in breaks.windows(2) {
        if let [from, to] = *pair
            && to > from
        {
            let panel = refine(f, from, to, gauss(f, from, to), tolerance, DEPTH);
            total.value += panel.value;
            total.change += panel.change;
        }
    }
    total
}

fn refine(f: &impl Fn(f64) -> f64, from: f64, to: f64, whole: f64, tolerance: f64, depth: u32) -> Integral {
    let middle = 0.5 * (from + to);
    let (left, right) = (gauss(f, from, middle), gauss(f, middle, to));
    let change = (left + right - whole).abs();
    if depth == 0 || change <= tolerance || change.is_nan() {
        return Integral { value: left + right, change };
    }
    let left = refine(f, from, middle, left, 0.5 * tolerance, depth - 1);
    let right = refine(f, middle, to, right, 0.5 * tolerance, depth - 1);
    Integral { value: left.value + right.value, change: left.change + right.change }
}

fn gauss(f: &impl Fn(f64) -> f64, from: f64, to: f64) -> f64 {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    RULE.iter()
        .map(|(node, weight)| weight * (f(middle - half * node) + f(middle + half * node)))
        .sum::<f64>()
        * half
}
