//! The standard normal distribution and its quantile.

use super::{Tail, Tails, erfc};

const SQRT_HALF: f64 = std::f64::consts::FRAC_1_SQRT_2;
/// 1 / sqrt(2 pi).
const DENSITY_AT_0: f64 = 0.398_942_280_401_432_7;
/// ln(2 pi) / 2.
const HALF_LN_2_PI: f64 = 0.918_938_533_204_672_7;

/// The density of the standard normal distribution.
pub fn normal_density(z: f64) -> f64 {
    DENSITY_AT_0 * libm::exp(-0.5 * z * z)
}

/// Both tails of the standard normal distribution at z.
pub fn normal_tails(z: f64) -> Tails {
    Tails { lower: 0.5 * erfc(-z * SQRT_HALF), upper: 0.5 * erfc(z * SQRT_HALF) }
}

/// The logarithm of the lower tail, which may be smaller than any double.
pub fn ln_normal_lower(z: f64) -> f64 {
    if z > 5.0 {
        return libm::log1p(-0.5 * erfc(z * SQRT_HALF));
    }
    if z > -30.0 {
        return libm::log(0.5 * erfc(-z * SQRT_HALF));
    }
    // Asymptotic series of Mills' ratio; the first term left out is below 1e-12 of the bracket there.
    let inverse = 1.0 / (z * z);
    let bracket = inverse * (1.0 - inverse * (3.0 - inverse * (15.0 - inverse * (105.0 - inverse * 945.0))));
    -0.5 * z * z - HALF_LN_2_PI - libm::log(-z) + libm::log1p(-bracket)
}

/// The z at which the standard normal distribution has the given tail.
///
/// M. J. Wichura, Algorithm AS 241, Appl. Statist. 37 (1988) 477 (PPND16).
pub fn normal_quantile(tail: Tail) -> f64 {
    let Some((probability, below)) = tail.smaller() else {
        return f64::NAN;
    };
    let central = 0.5 - probability;
    let magnitude = if central <= 0.425 {
        let r = 0.180_625 - central * central;
        central * ratio(r, &CENTRE)
    } else if probability == 0.0 {
        f64::INFINITY
    } else {
        let r = libm::sqrt(-libm::log(probability));
        if r <= 5.0 { ratio(r - 1.6, &MIDDLE) } else { ratio(r - 5.0, &FAR) }
    };
    if below { -magnitude } else { magnitude }
}

/// Coefficients of numerator and denominator, from the constant term upwards.
type Rational = [[f64; 8]; 2];

fn ratio(r: f64, [numerator, denominator]: &Rational) -> f64 {
    let polynomial = |coefficients: &[f64; 8]| coefficients.iter().rev().fold(0.0, |sum, c| sum * r + c);
    polynomial(numerator) / polynomial(denominator)
}

const CENTRE: Rational = [
    [
        3.387_132_872_796_366_5,
        1.331_416_678_917_843_8e2,
        1.971_590_950_306_551_3e3,
        1.373_169_376_550_946e4,
        4.592_195_393_154_987e4,
        6.726_577_092_700_87e4,
        3.343_057_558_358_813e4,
        2.509_080_928_730_122_7e3,
    ],
    [
        1.0,
        4.231_333_070_160_091e1,
        6.871_870_074_920_579e2,
        5.394_196_021_424_751e3,
        2.121_379_430_158_659_7e4,
        3.930_789_580_009_271e4,
        2.872_908_573_572_194_3e4,
        5.226_495_278_852_854e3,
    ],
];
const MIDDLE: Rational = [
    [
        1.423_437_110_749_683_5,
        4.630_337_846_156_546,
        5.769_497_221_460_691,
        3.647_848_324_763_204_5,
        1.270_458_252_452_368_4,
        2.417_807_251_774_506e-1,
        2.272_384_498_926_918_4e-2,
        7.745_450_142_783_414e-4,
    ],
    [
        1.0,
        2.053_191_626_637_759,
        1.676_384_830_183_803_8,
        6.897_673_349_851e-1,
        1.481_039_764_274_800_8e-1,
        1.519_866_656_361_645_7e-2,
        5.475_938_084_995_345e-4,
        1.050_750_071_644_416_9e-9,
    ],
];
const FAR: Rational = [
    [
        6.657_904_643_501_103,
        5.463_784_911_164_114,
        1.784_826_539_917_291_3,
        2.965_605_718_285_048_7e-1,
        2.653_218_952_657_612_4e-2,
        1.242_660_947_388_078_4e-3,
        2.711_555_568_743_487_6e-5,
        2.010_334_399_292_288_1e-7,
    ],
    [
        1.0,
        5.998_322_065_558_88e-1,
        1.369_298_809_227_358e-1,
        1.487_536_129_085_061_5e-2,
        7.868_691_311_456_133e-4,
        1.846_318_317_510_054_7e-5,
        1.421_511_758_316_446e-7,
        2.044_263_103_389_939_8e-15,
    ],
];
