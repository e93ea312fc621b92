//! Special functions and the distributions that statistics and uncertainty need, on `libm`.
//!
//! Both tails of a distribution are given, each with its own relative accuracy: 1 minus a lower tail near 1 would
//! lose what a small risk is about. Arguments outside a function's domain give "not a number"; the callers in this
//! crate hold their arguments in types that cannot be outside.

mod beta;
mod bounded;
mod error_function;
mod gamma;
mod integral;
mod newton;
mod normal;
mod stirling;
mod student_t;
mod tails;

pub use beta::{beta_quantile, beta_tails};
pub use bounded::{Confidence, OutOfDomain, Probability};
pub use error_function::{erf, erfc};
pub(crate) use gamma::ln_gamma_density_of_log;
pub use gamma::{gamma_quantile, gamma_tails, ln_gamma};
pub use integral::{Integral, integrate};
pub use normal::{ln_normal_lower, normal_density, normal_quantile, normal_tails};
pub(crate) use stirling::ln_binomial_probability;
pub use student_t::{student_t_quantile, student_t_tails};
pub use tails::{Fraction, Tail, Tails};
