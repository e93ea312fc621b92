# Writes thresholds.csv: probit fits with profile likelihood limits, Fisher's test and exact limits, by R.
#
#     Rscript thresholds.R > thresholds.csv        (r-base-core)
#
# One row per fit: name, voltages, failures, shots (each joined by spaces), threshold, spread, limits at 95 %.

options(digits = 17)
cat("# ", R.version.string, "; written by thresholds.R\n", sep = "")
cat("name,levels_kv,failures,shots,threshold_kv,spread_kv,low_kv,high_kv\n")

fit <- function(name, x, k, n) {
  at <- glm(cbind(k, n - k) ~ x, family = binomial(probit), control = list(epsilon = 1e-14, maxit = 100))
  mu <- -coef(at)[[1]] / coef(at)[[2]]
  sigma <- 1 / coef(at)[[2]]
  loglik <- function(mu, b) {
    z <- b * (x - mu)
    sum(k * pnorm(z, log.p = TRUE) + (n - k) * pnorm(-z, log.p = TRUE))
  }
  profile <- function(mu) optimize(function(b) loglik(mu, b), c(0, 60 / sigma), maximum = TRUE, tol = 1e-12)$objective
  least <- loglik(mu, 1 / sigma) - qchisq(0.95, 1) / 2
  f <- function(m) profile(m) - least
  span <- diff(range(x))
  reach <- function(side) {
    width <- span / 8
    while (f(mu + side * width) > 0 && width < 1e4 * span) width <- 2 * width
    if (width >= 1e4 * span) return(NA)
    uniroot(f, sort(c(mu, mu + side * width)), tol = 1e-13)$root
  }
  low <- reach(-1)
  high <- reach(1)
  cat(name, paste(x, collapse = " "), paste(k, collapse = " "), paste(n, collapse = " "),
      sprintf("%.15g,%.15g,%.12g,%.12g", mu, sigma, low, high), sep = ",")
  cat("\n")
}

# C. I. Bliss, Ann. Appl. Biol. 22 (1935) 134: beetles and carbon disulphide (log10 of mg/l in the place of kV).
fit("bliss", c(1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839),
    c(6, 13, 18, 28, 52, 53, 61, 60), c(59, 60, 62, 56, 63, 59, 62, 60))
fit("steep", c(2, 4, 6, 8), c(0, 1, 9, 10), c(10, 10, 10, 10))
fit("shallow", c(2, 4, 6, 8, 10, 15), c(1, 3, 4, 5, 7, 9), rep(10, 6))
fit("few", c(4, 5, 6, 7), c(0, 2, 1, 3), c(3, 4, 3, 3))
fit("uneven", c(1, 2, 8, 12.5), c(0, 3, 30, 49), c(50, 50, 50, 50))
fit("high", c(8, 9, 10, 11), c(2, 5, 20, 38), c(40, 40, 40, 40))
# Loads of a published staircase (C. Gorla et al. 2017, table 9, in kN), as counts per load.
fit("staircase", c(35, 36, 37, 38, 39), c(0, 3, 2, 2, 1), c(2, 5, 4, 3, 1))
