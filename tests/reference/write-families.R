# usage: Rscript tests/reference/write-families.R, in the folder of the sources; base R and its package survival (4.2.2).
# Draws families of builds and computes them by what R brings: family-by-r-values.csv has the values, family-by-r.csv what
# they come to. Nothing of it is taken from the program.
suppressMessages(library(survival))
set.seed(20310211)

# P(T <= t) of the noncentral t distribution by its definition: pt() of R is not exact beyond a noncentrality of 37.6.
noncentral <- function(t, df, delta) {
  from <- max(1e-12, 1 - 10 / sqrt(2 * df)); to <- 1 + 10 / sqrt(2 * df) + 8 / df
  s <- from + (to - from) * (seq_len(1e5) - 0.5) / 1e5
  weight <- 2 * df * s * dchisq(df * s^2, df)
  sum(pnorm(t * s - delta) * weight) / sum(weight)
}
lower_bound <- function(index, n, df, confidence) {
  t <- 3 * sqrt(n) * index; reach <- 10 * sqrt(1 + t^2 / (2 * df))
  uniroot(function(delta) noncentral(t, df, delta) - confidence, c(t - reach, t + reach), tol = 1e-11)$root / (3 * sqrt(n))
}
two_sided <- function(n, df, content, confidence) {
  half <- function(z) sapply(z, function(one) {
    uniroot(function(r) pnorm(one / sqrt(n) + r) - pnorm(one / sqrt(n) - r) - content, c(0, 40), tol = 1e-12)$root
  })
  holds <- function(k) 2 * integrate(function(z) dnorm(z) * pchisq(df * half(z)^2 / k^2, df, lower.tail = FALSE),
    0, 8, rel.tol = 1e-9)$value
  uniroot(function(k) holds(k) - confidence, c(0.5, 200), tol = 1e-9)$root
}
one_sided <- function(n, df, content, confidence) {
  uniroot(function(t) noncentral(t, df, qnorm(content) * sqrt(n)) - confidence, c(-5, 500), tol = 1e-10)$root / sqrt(n)
}
reml <- function(x, g) {
  size <- tapply(x, g, length); mean <- tapply(x, g, mean); n <- length(x); inner <- sum((x - ave(x, g))^2)
  at <- function(ratio) {
    w <- size / (1 + size * ratio); squares <- inner + sum(w * (mean - sum(w * mean) / sum(w))^2)
    list(within = squares / (n - 1), height = (n - 1) * log(squares / (n - 1)) + sum(log1p(size * ratio)) + log(sum(w)))
  }
  grid <- seq(-25, 25, 0.1); heights <- sapply(grid, function(one) at(exp(one))$height)
  near <- grid[which.min(heights)]
  ratio <- exp(optimize(function(one) at(exp(one))$height, near + c(-0.2, 0.2), tol = 1e-13)$minimum)
  if (at(0)$height <= at(ratio)$height) ratio <- 0
  c(at(ratio)$within, ratio * at(ratio)$within)
}

told <- data.frame(); drawn <- data.frame()
tell <- function(family, ...) {
  found <- c(...)
  told <<- rbind(told, data.frame(family = family, what = names(found), value = sprintf("%.12g", found)))
}

for (family in 1:16) {
  builds <- c(4, 9, 12, 21, 25, 26, 30, 40)[(family - 1) %% 8 + 1]; share <- c(0, 0.3, 0.8)[(family - 1) %% 3 + 1]
  size <- sample(1:c(1, 3, 6)[(family + 1) %% 3 + 1], builds, replace = TRUE)
  if (sum(size) < 12) size <- size + 3
  centre <- c(-40, 12, 230, 0.5)[(family - 1) %% 4 + 1]; scale <- c(5, 1, 0.02)[(family - 1) %% 3 + 1]
  confidence <- c(0.9, 0.95, 0.99)[family %% 3 + 1]
  g <- rep(seq_len(builds), size)
  x <- signif(centre + scale * (sqrt(share) * rnorm(builds)[g] + sqrt(1 - share) * rnorm(length(g))), 8)
  lower <- if (family %% 3 == 0) NA else signif(centre - scale * runif(1, 2, 6), 5)
  upper <- if (family %% 3 == 1) NA else signif(centre + scale * runif(1, 2, 6), 5)
  kept <- rep(TRUE, length(x))
  if (family > 12) { lower <- NA; upper <- signif(centre + scale * 5, 5); kept <- x >= sort(x)[ceiling(0.2 * length(x))] }
  cut <- if (all(kept)) NA else min(x[kept])
  drawn <- rbind(drawn, data.frame(family = family, build = g, value = ifelse(kept, sprintf("%.10g", x), paste0("<", cut))))
  nearer <- function(m, s) min((m - lower) / (3 * s), (upper - m) / (3 * s), na.rm = TRUE)
  tell(family, lower = lower, upper = upper, confidence = confidence)
  if (!all(kept)) {
    known <- length(x[kept]); groups <- tapply(x[kept], g[kept], length)
    fit <- survreg(Surv(ifelse(kept, x, cut), kept, type = "left") ~ 1, dist = "gaussian",
      control = survreg.control(rel.tolerance = 1e-14, maxiter = 200))
    m <- unname(coef(fit)); s <- fit$scale * sqrt(known / (known - 1)); counts <- sum(groups)^2 / sum(groups^2)
    tell(family, mean = m, sd = s, ppk = nearer(m, s), independent = lower_bound(nearer(m, s), known, known - 1, confidence),
      builds = lower_bound(nearer(m, s), counts, counts - 1, confidence))
    next
  }
  n <- length(x); means <- tapply(x, g, mean); h <- builds / sum(1 / size); parts <- if (n > builds) reml(x, g) else c(NA, NA)
  inner <- if (n > builds) sum((x - ave(x, g))^2) / (n - builds) else 0
  q <- max(0, (h * var(means) / inner / qf(1 - confidence, builds - 1, n - builds) - 1) / h)
  a <- if (n > builds) q / (1 + q) + (1 - q / (1 + q)) / h else 1
  counts <- builds / a; df <- 1 / (a^2 / (builds - 1) + (if (n > builds) (1 - a)^2 / (n - builds) else 0))
  single <- sqrt(var(means) + (1 - 1 / h) * inner)
  whole <- max(2, floor(counts))
  factor <- if (is.na(lower) || is.na(upper)) one_sided(whole, df, 0.95, confidence) else two_sided(whole, df, 0.95, confidence)
  outer <- max(0, var(means) - inner / h)
  freed <- if (n == builds || outer == 0) x else
    (x - ave(x, g)) / sqrt(inner) + (ave(x, g) - mean(means)) / sqrt(inner + ave(x, g, FUN = length) * outer)
  test <- shapiro.test(as.numeric(freed)); ranges <- mean(abs(diff(means)))
  points <- sqrt(ranges^2 * pi / 4 + (1 - mean(1 / size)) * inner)
  tell(family, mean = mean(x), sd = sd(x), ppk = nearer(mean(x), sd(x)),
    independent = lower_bound(nearer(mean(x), sd(x)), n, n - 1, confidence),
    builds = lower_bound(nearer(mean(means), single), counts, df, confidence),
    within = sqrt(parts[1]), between = sqrt(parts[2]), w = unname(test$statistic), p = test$p.value, factor = factor,
    centre = mean(means), sigma = ranges * sqrt(pi) / 2, cpk = nearer(mean(x), points),
    cpkLower = lower_bound(nearer(mean(x), points), min(builds, counts), min(0.62 * (builds - 1), df), confidence))
}
told <- told[told$value != "NA", ]
write.csv(drawn, "tests/reference/family-by-r-values.csv", row.names = FALSE, quote = FALSE)
write.csv(told, "tests/reference/family-by-r.csv", row.names = FALSE, quote = FALSE)
