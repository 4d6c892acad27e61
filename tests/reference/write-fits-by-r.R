# usage: Rscript tests/reference/write-fits-by-r.R, in the folder of the sources; R 4.2.2 and its package survival.
# Draws 200 samples and fits a distribution to each by what R brings: survreg (normal, lognormal, Weibull; Gumbel as the
# smallest extreme of -x) and optim (gamma, and every fit with a lower end of its own), then Newton's steps on differences of
# the likelihood. A draw whose likelihood has no maximum beside the lower end is drawn anew. fits-by-r.json has what was
# fitted and what it comes to. Nothing of it is taken from the program.
suppressMessages(library(survival))
source("tests/reference/json.R")
set.seed(20310302)

pgumbel <- function(x, l, b, lower.tail = TRUE, log.p = TRUE) {
  w <- exp(-(x - l) / b); if (lower.tail) -w else log(-expm1(-w))
}
density <- list(normal = function(x, p) dnorm(x, p[1], p[2], log = TRUE), lognormal = function(x, p) dlnorm(x, p[1], p[2], log = TRUE),
  weibull = function(x, p) dweibull(x, p[1], p[2], log = TRUE), gamma = function(x, p) dgamma(x, p[1], p[2], log = TRUE),
  gumbel = function(x, p) { z <- (x - p[1]) / p[2]; -z - exp(-z) - log(p[2]) })
share <- list(normal = pnorm, lognormal = plnorm, weibull = pweibull, gamma = pgamma, gumbel = pgumbel)
names_of <- list(normal = c("mean", "sd"), lognormal = c("logMean", "logSd"), weibull = c("shape", "scale"),
  gamma = c("shape", "rate"), gumbel = c("location", "scale"))
height <- function(name, x, kind, p, t = 0) {
  of <- share[[name]]; y <- x - t
  sum(density[[name]](y[kind == 0], p)) + sum(of(y[kind < 0], p[1], p[2], lower.tail = TRUE, log.p = TRUE)) +
    sum(of(y[kind > 0], p[1], p[2], lower.tail = FALSE, log.p = TRUE))
}
# Newton's method; slopes by differences of fourth order, so that the zero is found to ten digits and better.
newton <- function(f, at) {
  n <- length(at); unit <- function(i, h) replace(numeric(n), i, h)
  slope <- function(at, h = 1e-3) sapply(seq_len(n), function(i) {
    (8 * (f(at + unit(i, h)) - f(at - unit(i, h))) - (f(at + unit(i, 2 * h)) - f(at - unit(i, 2 * h)))) / (12 * h)
  })
  bend <- function(at) { h <- 1e-3; b <- sapply(seq_len(n), function(i) (slope(at + unit(i, h)) - slope(at - unit(i, h))) / (2 * h)); (b + t(b)) / 2 }
  for (round in 1:8) {
    b <- bend(at)
    if (any(!is.finite(b)) || any(eigen(b)$values >= 0)) return(NULL)
    step <- solve(b, slope(at)); at <- at - step
    if (any(!is.finite(at))) return(NULL)
  }
  if (max(abs(step)) < 1e-7) at else NULL
}
by_survreg <- function(name, x, kind) {
  lower <- ifelse(kind < 0, NA, x); upper <- ifelse(kind > 0, NA, x)
  surv <- if (name == "gumbel") Surv(-upper, -lower, type = "interval2") else Surv(lower, upper, type = "interval2")
  dist <- c(normal = "gaussian", lognormal = "lognormal", weibull = "weibull", gumbel = "extreme")[[name]]
  fit <- survreg(surv ~ 1, dist = dist, control = survreg.control(rel.tolerance = 1e-15, maxiter = 300))
  m <- unname(coef(fit)); s <- fit$scale
  switch(name, weibull = c(1 / s, exp(m)), gumbel = c(-m, s), c(m, s))
}
by_optim <- function(name, x, kind, start, threshold) {
  real <- name == "lognormal"
  least <- min(x)
  parts <- function(v) list(p = c(if (real) v[1] else exp(v[1]), exp(v[2])), t = if (threshold) least - exp(v[3]) else 0)
  f <- function(v) { q <- parts(v); height(name, x, kind, q$p, q$t) }
  from <- c(if (real) start[1] else log(start[1]), log(start[2]), if (threshold) log(0.3 * sd(x)))
  first <- try(optim(from, function(v) { h <- -f(v); if (is.finite(h)) h else 1e10 }, method = "Nelder-Mead",
    control = list(maxit = 5000, reltol = 1e-14)), silent = TRUE)
  if (inherits(first, "try-error")) return(NULL)
  if (threshold && (first$par[3] < log(1e-3 * sd(x)) || first$par[3] > log(100 * sd(x)))) return(NULL)
  best <- newton(f, first$par)
  if (is.null(best) || max(abs(best - first$par)) > 0.05) return(NULL)
  q <- parts(best); c(q$p, if (threshold) q$t)
}
draw <- list(normal = function(n, p) rnorm(n, p[1], p[2]), lognormal = function(n, p) rlnorm(n, p[1], p[2]),
  weibull = function(n, p) rweibull(n, p[1], p[2]), gamma = function(n, p) rgamma(n, p[1], p[2]),
  gumbel = function(n, p) p[1] - p[2] * log(rexp(n)))
truth <- function(name) switch(name, normal = c(sample(c(-40, 0, 12, 2500), 1), sample(c(0.02, 1, 30), 1)),
  lognormal = c(runif(1, -3, 5), runif(1, 0.05, 1.5)), weibull = c(exp(runif(1, -0.7, 3)), 10^runif(1, -3, 4)),
  gamma = c(exp(runif(1, -0.7, 5)), 10^runif(1, -3, 3)), gumbel = c(sample(c(-40, 0, 120), 1), sample(c(0.05, 1, 30), 1)))

one <- function(i) {
  threshold <- i > 160
  name <- if (threshold) c("lognormal", "weibull", "gamma")[i %% 3 + 1] else names(draw)[i %% 5 + 1]
  n <- if (threshold) sample(40:70, 1) else sample(5:40, 1)
  p <- if (!threshold) truth(name) else switch(name, lognormal = c(runif(1, -1, 3), runif(1, 0.3, 0.9)),
    weibull = c(runif(1, 2.3, 4), 10^runif(1, -1, 2)), gamma = c(runif(1, 2.5, 8), 10^runif(1, -1, 1)))
  shift <- if (threshold) round(runif(1, -5, 20), 1) else 0
  x <- signif(draw[[name]](n, p) + shift, 6); kind <- rep(0, n)
  if (!threshold && i %% 2 == 0) {
    if (i %% 4 == 0) { cut <- signif(quantile(x, runif(1, 0.05, 0.3)), 4); kind[x < cut] <- -1; x[x < cut] <- cut }
    if (i %% 3 != 0) { cut <- signif(quantile(x, runif(1, 0.6, 0.95)), 4); kind[x > cut & kind == 0] <- 1; x[x > cut & kind == 0] <- cut }
  }
  if (length(unique(x[kind == 0])) < 3) return(NULL)
  start <- if (name == "gamma") c(mean(x - shift)^2 / var(x), mean(x - shift) / var(x)) else p
  found <- if (threshold || name == "gamma") by_optim(name, x, kind, start, threshold) else by_survreg(name, x, kind)
  if (is.null(found)) return(NULL)
  t <- if (threshold) found[3] else 0
  below <- function(x, up) share[[name]](x - t, found[1], found[2], lower.tail = !up, log.p = TRUE)
  y <- sort(x)
  told <- ifelse(kind == 0, sprintf("%.6g", x), paste0(ifelse(kind < 0, "<", ">"), sprintf("%.6g", x)))
  list(input = list(values = I(told), distribution = name, threshold = if (threshold) TRUE else NULL),
    expected = list(parameters = setNames(as.list(found), c(names_of[[name]], if (threshold) "threshold")),
      logLikelihood = height(name, x, kind, found, t),
      andersonDarling = if (any(kind != 0)) NULL else -n - sum((2 * seq_len(n) - 1) * (below(y, FALSE) + rev(below(y, TRUE)))) / n))
}
cases <- lapply(1:200, function(i) { repeat { found <- one(i); if (!is.null(found)) return(found) } })
write_cases(cases, "fits-by-r.json")
