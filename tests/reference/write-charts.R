# usage: Rscript tests/reference/write-charts.R, in the folder of the sources; base R (4.2.2).
# Draws 200 series and works out their charts by what R brings: constants by integrate and by lgamma, averages by
# filter, cumulative sums by cumsum and cummin, patterns by embed. charts-by-r.json has the series, limits and signals: each
# rule with the places where it finds something. Nothing of it is taken from the program.
source("tests/reference/json.R")
set.seed(20310304)

# By the definition of the distribution of a range: ptukey of R gives d3 to no more than some 1e-10.
range_moments <- function(n) {
  beyond <- Vectorize(function(w) {
    1 - integrate(function(x) n * dnorm(x) * (pnorm(x) - pnorm(x - w))^(n - 1), -9, 9 + w, rel.tol = 1e-12, subdivisions = 2000)$value
  })
  over <- function(f) sum(mapply(function(from, to) integrate(f, from, to, rel.tol = 1e-11, abs.tol = 1e-13, subdivisions = 500)$value,
    c(0, 3, 7), c(3, 7, 16)))
  d2 <- over(beyond); c(d2 = d2, d3 = sqrt(over(function(w) 2 * w * beyond(w)) - d2^2))
}
ranges <- sapply(2:7, range_moments)
d2 <- function(n) ranges["d2", n - 1]; d3 <- function(n) ranges["d3", n - 1]
c4 <- function(n) sqrt(2 / (n - 1)) * exp(lgamma(n / 2) - lgamma((n - 1) / 2))

all_of <- function(holds, k) if (length(holds) < k) rep(FALSE, length(holds)) else c(rep(FALSE, k - 1), rowSums(embed(as.numeric(holds), k)) == k)
some_of <- function(holds, needed, window) holds & rowSums(embed(c(rep(0, window - 1), as.numeric(holds)), window)) >= needed
turns <- function(z) { s <- sign(diff(z)); c(FALSE, FALSE, s[-1] * s[-length(s)] == -1) }
patterns <- list(
  beyondThreeSigma = function(z) abs(z) > 3,
  nineOneSide = function(z) all_of(z > 0, 9) | all_of(z < 0, 9),
  eightOneSide = function(z) all_of(z > 0, 8) | all_of(z < 0, 8),
  sixSteady = function(z) c(FALSE, all_of(diff(z) > 0, 5) | all_of(diff(z) < 0, 5)),
  sevenSteady = function(z) c(FALSE, all_of(diff(z) > 0, 6) | all_of(diff(z) < 0, 6)),
  fourteenAlternating = function(z) all_of(turns(z), 12),
  twoOfThreeBeyondTwoSigma = function(z) some_of(z > 2, 2, 3) | some_of(z < -2, 2, 3),
  fourOfFiveBeyondOneSigma = function(z) some_of(z > 1, 4, 5) | some_of(z < -1, 4, 5),
  fifteenWithinOneSigma = function(z) all_of(abs(z) < 1, 15),
  eightOutsideOneSigma = function(z) all_of(abs(z) > 1, 8))
# Rounded, so that a point that lies on a line is found on it.
found <- function(z, beyond) {
  told <- c(list(beyondLimit = which(beyond)), lapply(patterns, function(holds) which(holds(signif(z, 12)))))
  lapply(Filter(length, told), I)
}
only <- function(beyond) lapply(Filter(length, list(beyondLimit = which(beyond))), I)
outside <- function(x, low, high) { near <- function(a, b) abs(a - b) <= 1e-12 * pmax(abs(a), abs(b)); (x < low & !near(x, low)) | (x > high & !near(x, high)) }

# Quiet, shifted, drifting, wandering, in blocks, or up and down in turn: each rule finds something somewhere.
series <- function(n) {
  x <- switch(sample(6, 1), rnorm(n), rnorm(n) + 2.5 * (seq_len(n) > n / 2), 0.6 * rnorm(n) + seq_len(n) / 5, cumsum(rnorm(n)),
    3 * rep(c(-1, 1), each = 9, length.out = n) + 0.5 * rnorm(n), 2 * rep(c(-1, 1), length.out = n) + rnorm(n))
  signif(sample(c(0, 50, 2000), 1) + sample(c(0.05, 1, 20), 1) * x, 6)
}
individuals <- function() {
  x <- series(sample(20:36, 1)); mr <- mean(abs(diff(x))); table <- runif(1) < 0.3
  s <- mr / (if (table) 1.128 else 2 / sqrt(pi)); top <- if (table) 3.267 else 1 + 3 * sqrt(2 - 4 / pi) / (2 / sqrt(pi))
  m <- mean(x)
  list(calculation = "individuals-chart", input = list(values = I(x), spanConstant = if (table) "table" else "exact"),
    expected = list(centre = m, meanMovingRange = mr, sigma = s, lower = m - 3 * s, upper = m + 3 * s, rangeUpper = top * mr),
    signals = found((x - m) / s, outside(x, m - 3 * s, m + 3 * s)))
}
subgroups <- function(spread, equal) {
  k <- sample(10:18, 1); n <- if (equal) rep(sample(2:5, 1), k) else sample(2:7, k, replace = TRUE)
  centre <- series(k); inner <- mean(abs(diff(centre))) + 1e-3
  x <- lapply(seq_len(k), function(i) signif(centre[i] + inner * rnorm(n[i]), 6))
  means <- sapply(x, mean); s <- if (spread == "range") sapply(x, function(v) diff(range(v))) else sapply(x, sd)
  part <- if (spread == "range") d2(n) else c4(n); wide <- if (spread == "range") d3(n) else sqrt(1 - c4(n)^2)
  grand <- sum(n * means) / sum(n); pooled <- sqrt(sum((n - 1) * s^2) / sum(n - 1))
  sigma <- if (equal) mean(s) / part[1] else if (spread == "range") mean(s / part) else pooled
  # The standard deviation within, pooled, stands for the mean one of each size.
  judged <- if (equal) sigma else if (spread == "range") sigma else sigma / part
  low <- pmax(0, judged * (part - 3 * wide)); high <- judged * (part + 3 * wide); reach <- 3 * judged / sqrt(n)
  told <- function(v) if (equal) v[1] else I(v)
  list(calculation = "subgroup-chart", input = list(subgroups = lapply(x, I), spread = spread),
    expected = list(grandMean = grand, meanSpread = if (equal || spread == "range") mean(s) else pooled, sigma = sigma,
      meanLower = told(grand - reach), meanUpper = told(grand + reach), spreadLower = told(low), spreadUpper = told(high)),
    signals = found((means - grand) / (reach / 3), outside(means, grand - reach, grand + reach) | outside(s, low, high)))
}
ewma <- function() {
  x <- series(sample(12:20, 1)); target <- signif(mean(x), 6); sigma <- signif(sd(x), 5); lambda <- round(runif(1, 0.05, 1), 2)
  width <- round(runif(1, 1.5, 3), 3); exact <- runif(1) < 0.5; t <- seq_along(x)
  z <- as.numeric(stats::filter(lambda * x, 1 - lambda, method = "recursive", init = target))
  # The variance of an average is the sum of its squared weights.
  reach <- width * sigma * sqrt(if (exact) cumsum((lambda * (1 - lambda)^(t - 1))^2) else rep(lambda / (2 - lambda), length(t)))
  list(calculation = "ewma", input = list(values = I(x), target = target, sigma = sigma, lambda = lambda, width = width,
    limits = if (exact) "exact" else "steady"),
    expected = list(points = I(z), lower = I(target - reach), upper = I(target + reach)),
    signals = only(outside(z, target - reach, target + reach)))
}
cusum <- function() {
  x <- series(sample(12:20, 1)); target <- signif(mean(x), 6); k <- signif(sd(x) * runif(1, 0.1, 0.8), 4); h <- signif(sd(x) * runif(1, 1, 5), 4)
  above <- function(step) { s <- cumsum(step); s - pmin(0, cummin(s)) }
  since <- function(s) { t <- seq_along(s); t - cummax(ifelse(s > 0, 0, t)) }
  high <- above(x - target - k); low <- above(target - k - x)
  list(calculation = "cusum", input = list(values = I(x), target = target, k = k, h = h),
    expected = list(high = I(high), low = I(low), highRun = I(since(high)), lowRun = I(since(low))),
    signals = only(outside(high, 0, h) | outside(low, 0, h)))
}
counts <- function(sized) {
  n <- sample(20:30, 1); sizes <- sample(20:400, n, replace = TRUE); p <- runif(1, 0.01, 0.3); drift <- sample(c(1, 1, 2.5), 1)
  rate <- p * ifelse(seq_len(n) > n / 2, drift, 1)
  x <- if (sized) rbinom(n, sizes, rate) else rpois(n, 40 * rate)
  centre <- if (sized) sum(x) / sum(sizes) else mean(x); point <- if (sized) x / sizes else x
  s <- sqrt(if (sized) centre * (1 - centre) / sizes else rep(centre, n))
  low <- pmax(0, centre - 3 * s); high <- if (sized) pmin(1, centre + 3 * s) else centre + 3 * s
  list(calculation = "count-chart", input = list(counts = I(x), sizes = if (sized) I(sizes) else NULL),
    expected = list(centre = centre, lower = I(low), upper = I(high)), signals = found((point - centre) / s, outside(point, low, high)))
}
cases <- lapply(1:200, function(i) switch(i %% 10 + 1, individuals(), individuals(), subgroups("range", TRUE), subgroups("sd", TRUE),
  subgroups("range", FALSE), subgroups("sd", FALSE), ewma(), cusum(), counts(FALSE), counts(TRUE)))
write_cases(cases, "charts-by-r.json")
