//! Special functions held against scipy, and against mpmath with 360 digits where scipy itself is off.
//!
//! Values: shared/reference/special/values.csv, written by values.py beside it, which names the versions.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use std::collections::BTreeMap;

use assess::special::*;

const VALUES: &str = include_str!("../../../shared/reference/special/values.csv");
/// Relative.
const TOLERANCE: f64 = 1e-12;

struct Row<'a> {
    line: usize,
    function: &'a str,
    arguments: Vec<f64>,
    scipy: f64,
    mpmath: f64,
}

fn rows() -> impl Iterator<Item = Row<'static>> {
    VALUES
        .lines()
        .enumerate()
        .filter(|(_, line)| !line.starts_with(['#']) && !line.starts_with("function"))
        .map(|(index, line)| {
            let fields: Vec<&str> = line.split(',').collect();
            let arguments =
                fields[1..4].iter().filter(|text| !text.is_empty()).map(|text| text.parse().unwrap());
            Row {
                line: index + 1,
                function: fields[0],
                arguments: arguments.collect(),
                scipy: fields[4].parse().unwrap(),
                mpmath: fields[5].parse().unwrap(),
            }
        })
}

fn ours(function: &str, arguments: &[f64]) -> f64 {
    match (function, arguments) {
        ("ln_gamma", [x]) => ln_gamma(*x),
        ("erf", [x]) => erf(*x),
        ("erfc", [x]) => erfc(*x),
        ("normal_lower", [z]) => normal_tails(*z).lower,
        ("ln_normal_lower", [z]) => ln_normal_lower(*z),
        ("normal_quantile_lower", [p]) => normal_quantile(Tail::Lower(*p)),
        ("gamma_lower", [a, x]) => gamma_tails(*a, *x).lower,
        ("gamma_upper", [a, x]) => gamma_tails(*a, *x).upper,
        ("gamma_quantile_lower", [a, p]) => gamma_quantile(*a, Tail::Lower(*p)),
        ("gamma_quantile_upper", [a, p]) => gamma_quantile(*a, Tail::Upper(*p)),
        ("beta_lower", [a, b, x]) => beta_tails(*a, *b, Fraction::of(*x)).lower,
        ("beta_upper", [a, b, x]) => beta_tails(*a, *b, Fraction::of(*x)).upper,
        ("beta_quantile_lower", [a, b, p]) => beta_quantile(*a, *b, Tail::Lower(*p)).part,
        ("student_t_upper", [dof, t]) => student_t_tails(*dof, *t).upper,
        ("student_t_quantile_upper", [dof, p]) => student_t_quantile(*dof, Tail::Upper(*p)),
        _ => panic!("no function `{function}` of {} arguments", arguments.len()),
    }
}

/// Relative where there is something to be relative to.
fn deviation(got: f64, truth: f64) -> f64 {
    if truth == 0.0 { got.abs() } else { ((got - truth) / truth).abs() }
}

#[test]
fn every_value_agrees_with_360_digits_to_1e_12() {
    let mut worst: BTreeMap<&str, (f64, usize, usize)> = BTreeMap::new();
    let mut wrong = Vec::new();
    for row in rows() {
        let got = ours(row.function, &row.arguments);
        let off = deviation(got, row.mpmath);
        let entry = worst.entry(row.function).or_insert((0.0, 0, 0));
        entry.2 += 1;
        if off > entry.0 {
            (entry.0, entry.1) = (off, row.line);
        }
        if off.is_nan() || off > TOLERANCE {
            wrong.push(format!(
                "line {}: {}{:?} gives {got:e}, {off:.1e} off",
                row.line, row.function, row.arguments
            ));
        }
    }
    for (function, (off, line, count)) in &worst {
        println!("{function}: {count} values, worst {off:.1e} at line {line}");
    }
    assert!(worst.values().map(|(_, _, count)| count).sum::<usize>() > 900);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn and_with_scipy_wherever_scipy_agrees_with_360_digits() {
    let (mut held, mut scipy_off) = (0, Vec::new());
    for row in rows() {
        if deviation(row.scipy, row.mpmath) > TOLERANCE {
            scipy_off.push(format!("line {}: {}{:?}", row.line, row.function, row.arguments));
            continue;
        }
        let off = deviation(ours(row.function, &row.arguments), row.scipy);
        assert!(off <= 2.0 * TOLERANCE, "line {}: {off:e}", row.line);
        held += 1;
    }
    println!("{held} values held against scipy; scipy itself is off at {scipy_off:?}");
    assert!(held > 500);
    assert!(scipy_off.len() <= 2, "{scipy_off:?}");
}

#[test]
fn tails_add_up_and_mirror() {
    for (a, b) in [(0.5, 0.5), (3.0, 8.0), (120.0, 0.5), (4000.0, 9000.0)] {
        for step in 0..=50 {
            let x = Fraction::of(f64::from(step) / 50.0);
            let (here, mirrored) =
                (beta_tails(a, b, x), beta_tails(b, a, Fraction { part: x.rest, rest: x.part }));
            assert!((here.lower + here.upper - 1.0).abs() < 1e-15);
            assert!(deviation(here.lower, mirrored.upper) < 1e-12);
        }
    }
    for step in -60..=60 {
        let t = f64::from(step) / 7.0;
        for dof in [1.0, 2.5, 30.0, 1e7, 1e9, f64::INFINITY] {
            let (here, there) = (student_t_tails(dof, t), student_t_tails(dof, -t));
            assert_eq!(here.lower, there.upper);
            assert!((here.lower + here.upper - 1.0).abs() < 1e-15);
        }
    }
}

#[test]
fn quantiles_undo_tails_in_both_directions() {
    let close = |got: f64, truth: f64| assert!(deviation(got, truth) < 1e-11, "{got:e} for {truth:e}");
    for p in [1e-140, 1e-30, 1e-9, 0.003, 0.2, 0.5] {
        for (a, b) in [(0.5, 0.5), (1.0, 1.0), (2.0, 700.0), (41.0, 60.0), (1e5, 0.5)] {
            close(beta_tails(a, b, beta_quantile(a, b, Tail::Lower(p))).lower, p);
            close(beta_tails(a, b, beta_quantile(a, b, Tail::Upper(p))).upper, p);
        }
        for a in [0.5, 1.0, 7.0, 3e4] {
            close(gamma_tails(a, gamma_quantile(a, Tail::Upper(p))).upper, p);
        }
        close(normal_tails(normal_quantile(Tail::Upper(p))).upper, p);
        for dof in [1.0, 3.0, 16.7, 1e4, 3e8] {
            close(student_t_tails(dof, student_t_quantile(dof, Tail::Upper(p))).upper, p);
        }
    }
}

#[test]
fn many_degrees_of_freedom_join_the_normal_distribution_without_a_step() {
    for p in [1e-12, 1e-3, 0.025, 0.3] {
        let below = student_t_quantile(0.999_999e8, Tail::Upper(p));
        let above = student_t_quantile(1.000_001e8, Tail::Upper(p));
        let normal = student_t_quantile(f64::INFINITY, Tail::Upper(p));
        assert!(deviation(below, above) < 1e-12, "{below} {above}");
        assert!(above > normal && below > above - 1e-13 && deviation(above, normal) < 1e-6);
    }
}

#[test]
fn the_edges_are_exact_and_nonsense_is_not_a_number() {
    assert_eq!(beta_quantile(2.0, 3.0, Tail::Lower(0.0)).part, 0.0);
    assert_eq!(beta_quantile(2.0, 3.0, Tail::Upper(0.0)).part, 1.0);
    assert_eq!(normal_quantile(Tail::Lower(0.5)), 0.0);
    assert_eq!(student_t_quantile(4.0, Tail::Lower(0.5)), 0.0);
    assert_eq!(normal_quantile(Tail::Upper(0.0)), f64::INFINITY);
    assert_eq!(gamma_quantile(2.0, Tail::Lower(0.0)), 0.0);
    for nonsense in [
        beta_tails(0.0, 1.0, Fraction::of(0.5)).lower,
        beta_tails(1.0, f64::INFINITY, Fraction::of(0.5)).lower,
        beta_tails(1.0, 1.0, Fraction::of(1.5)).lower,
        gamma_tails(-1.0, 1.0).lower,
        gamma_tails(1.0, -1.0).lower,
        normal_quantile(Tail::Lower(1.5)),
        student_t_tails(0.0, 1.0).lower,
        student_t_quantile(3.0, Tail::Upper(-0.1)),
        beta_quantile(1.0, 1.0, Tail::Lower(f64::NAN)).part,
        ln_gamma(-0.5),
    ] {
        assert!(nonsense.is_nan(), "{nonsense}");
    }
}

#[test]
fn integrals_of_polynomials_and_of_a_bell_are_exact() {
    let power = integrate(&|x| 31.0 * libm::pow(x, 30.0), &[0.0, 1.0], 1e-14);
    assert!((power.value - 1.0).abs() < 1e-14, "{power:?}");
    // The rule itself: 16 points are exact up to degree 31.
    let once = integrate(&|x| 32.0 * libm::pow(x, 31.0), &[0.0, 1.0], f64::INFINITY);
    assert!((once.value - 1.0).abs() < 1e-14 && once.change < 1e-14, "{once:?}");
    let bell = integrate(&|x| normal_density(x), &[-40.0, 0.0, 40.0], 1e-14);
    assert!((bell.value - 1.0).abs() < 1e-13, "{bell:?}");
}
