# usage: Rscript tests/reference/write-losses.R, in the folder of the sources; base R (4.2.2).
# Draws 200 series of losses over time, of specimens of one build or several, and fits them by what R brings: aov within and
# between builds, lm (linear law), optimize and nls (power, saturating), isoreg and approx where no law fits.
# losses-by-r.json has the series by columns and what they come to. Nothing of it is taken from the program.
source("tests/reference/json.R")
set.seed(20310305)

shapes <- list(linear = function(h, b) h, power = function(h, b) h^b, saturating = function(h, b) 1 - exp(-h / b))
law_of <- function(law, d, h, v, times) {
  w <- 1 / v; n <- length(d); shape <- shapes[[law]]; k <- if (law == "linear") 1 else 2; b <- NULL; inside <- TRUE
  line <- function(b) lm(d ~ 0 + x, data = data.frame(d = d, x = shape(h, b)), weights = w)
  if (k == 2) {
    misfit <- function(logb) { x <- shape(h, exp(logb)); sum(w * (d - x * sum(w * x * d) / sum(w * x^2))^2) }
    range <- log(if (law == "power") c(0.05, 5) else max(h) * c(1 / 50, 50))
    ends <- seq(range[1], range[2], length.out = 41)
    near <- which.min(sapply(ends, misfit)); b <- exp(optimize(misfit, c(ends[max(1, near - 1)], ends[min(41, near + 1)]), tol = 1e-10)$minimum)
    # No place between the ends is better than an end: the law is told at it.
    for (end in range) if (misfit(end) <= misfit(log(b))) b <- exp(end)
    inside <- abs(log(b) - range[1]) > 0.01 && abs(log(b) - range[2]) > 0.01
    # Begun at the top, where a step may find nothing better (a warning); with times in units that bring a near the losses.
    if (inside) {
      unit <- if (law == "power") median(h) else 1
      fit <- try(suppressWarnings(nls(if (law == "power") d ~ a * (h / unit)^b else d ~ a * (1 - exp(-h / b)), weights = w,
        start = list(a = coef(line(b))[[1]] * if (law == "power") unit^b else 1, b = b), control = nls.control(tol = 1e-7, warnOnly = TRUE))), silent = TRUE)
      if (inherits(fit, "try-error")) return(NULL)
      b <- coef(fit)[["b"]]
    }
  }
  m <- line(b); a <- coef(m)[[1]]; chi <- sum(w * residuals(m)^2); df <- n - k
  slopes <- function(h) cbind(shape(h, b), if (law == "power") a * h^b * log(h) else if (law == "saturating") -a * h / b^2 * exp(-h / b))
  told <- list(law = law, chiSquare = chi, p = if (df > 0) pchisq(chi, df, lower.tail = FALSE) else 1,
    aicc = if (df > 1) chi + 2 * k + 2 * k * (k + 1) / (df - 1) else NULL)
  if (!inside) return(list(told = told, a = a))
  # The slope by b is scaled for the inverse: it is far smaller or larger than that by a.
  J <- sqrt(w) * slopes(h); size <- sqrt(colSums(J^2)); if (k == 2 && rcond(crossprod(t(t(J) / size))) < 1e-8) return(list(told = told, a = a))
  C <- solve(crossprod(t(t(J) / size))) / outer(size, size); g <- slopes(times)
  list(told = c(told, list(a = a, b = b, known = as.list(setNames(sqrt(diag(C)), c("a", "b")[1:k])))), a = a,
    depth = a * shape(times, b), variance = if (df > 0) max(1, chi / df) * rowSums((g %*% C) * g) else rowSums((g %*% C) * g))
}
one <- function(i) {
  k <- if (i %% 8 == 0) 2 else sample(c(3, 3, 4, 5), 1); time <- sort(sample(c(24, 72, 168, 336, 504, 672, 1008, 1344, 2016), k))
  several <- i %% 3 == 0; n <- if (several) sample(2:3, k, replace = TRUE) else if (i %% 7 == 0) rep(1, k) else sample(1:2, k, replace = TRUE)
  place <- rep(seq_len(k), n); build <- unlist(lapply(n, function(of) rep(c("A", "B"), length.out = of)))
  h <- round(time[place] * (1 + runif(length(place), 0, 0.005)), 1)
  s <- runif(1, 0.02, 0.15); longest <- max(h)
  curve <- switch(i %% 5 + 1, h / longest, (h / longest)^runif(1, 0.4, 1.6), 1 - exp(-h / longest * runif(1, 0.7, 4)),
    (h / longest)^runif(1, 0.3, 0.8), pmin(1, pmax(0.02, (h / longest - 0.4) * 3)) * ifelse(h == longest, 0.7, 1))
  top <- 10^runif(1, 0.5, 2.5); of_build <- rnorm(2 * k, 0, if (several) s / 2 else 0)
  d <- pmax(0.02, signif(top * curve * (1 + s * rnorm(length(h)) + of_build[2 * place - (build == "A")]), 5))
  u <- signif(pmax(0.05, d * runif(1, 0.01, 0.06)), 3)
  order <- order(h); h <- h[order]; d <- d[order]; u <- u[order]; place <- place[order]; build <- build[order]
  hours <- as.vector(tapply(h, place, mean)); mean <- as.vector(tapply(d, place, mean)); n <- as.vector(table(place))
  parts <- sapply(seq_len(k), function(p) {
    x <- d[place == p]; g <- factor(build[place == p])
    if (length(x) < 2) return(c(NA, NA, NA))
    # One specimen of each build tells nothing apart: all count together.
    if (!several || nlevels(g) == length(x)) return(c(sd(x), NA, length(x) - 1))
    ms <- summary(aov(x ~ g))[[1]][["Mean Sq"]]; size <- table(g)
    c(sqrt(ms[2]), sqrt(max(0, (ms[1] - ms[2]) / (sum(size) - sum(size^2) / sum(size)))), nlevels(g) - 1)
  })
  within <- parts[1, ]; between <- parts[2, ]; free <- ifelse(is.na(within), 0, parts[3, ])
  share <- (ifelse(is.na(within), 0, within)^2 + ifelse(is.na(between), 0, between)^2) / mean^2
  spread <- if (sum(free) > 0) sqrt(sum(free * share) / sum(free)) else 0
  v <- pmax(u^2 + (spread * mean[place])^2, 1e-4)
  times <- signif(longest * runif(1, 0.05, 0.99), 5)
  laws <- lapply(if (k < 3) "linear" else names(shapes), law_of, d = d, h = h, v = v, times = times)
  if (any(sapply(laws, is.null))) return(NULL)
  aicc <- sapply(laws, function(law) if (is.null(law$told$aicc)) Inf else law$told$aicc)
  chosen <- if (all(is.infinite(aicc))) 1 else which(aicc <= min(aicc) + 2)[1]; law <- laws[[chosen]]
  fits <- law$told$p >= 0.01 && law$a > 0
  why <- if (!fits) "no law fits" else if (k == 2) "two durations" else if (aicc[chosen] == min(aicc)) "least criterion" else "fewest parameters"
  of_mean <- spread * mean / sqrt(n)
  if (fits && is.null(law$depth)) return(NULL)
  if (fits) { depth <- law$depth; of_curve <- sqrt(law$variance) } else {
    # A mean counts as often as it has specimens.
    rising <- isoreg(rep(mean, n))$yf[cumsum(n)]
    depth <- approx(c(0, hours), c(0, rising), times, rule = 2)$y
    of_curve <- sapply(times, function(t) {
      after <- which(hours >= t)[1]; if (is.na(after)) after <- k
      start <- if (after > 1) hours[after - 1] else 0; part <- (t - start) / (hours[after] - start)
      sqrt(((1 - part) * if (after > 1) of_mean[after - 1] else 0)^2 + (part * of_mean[after])^2)
    })
  }
  measured <- sqrt(as.vector(tapply(u^2, place, base::mean))); part <- sqrt(base::mean((u / pmax(d, 0.01))^2))
  known <- sqrt(of_mean^2 + measured^2); drop <- -diff(mean); falls <- which(drop > 2 * sqrt(known[-k]^2 + known[-1]^2))
  if (!fits && any(times > max(hours))) return(NULL)
  list(input = list(hours = I(h), depthUm = I(d), standardUncertaintyUm = I(u), build = if (several) I(build) else NULL, times = I(times)),
    expected = list(
      durations = lapply(seq_len(k), function(p) list(meanUm = mean[p], withinUm = if (is.na(within[p])) NULL else within[p],
        betweenUm = if (is.na(between[p])) NULL else between[p], measuringUm = measured[p])),
      spread = list(relative = spread, degreesOfFreedom = sum(free)), laws = lapply(laws, function(law) law$told),
      law = if (fits) law$told$law else NULL, why = why, falls = if (length(falls)) lapply(falls, function(p) list(fromHours = hours[p], toHours = hours[p + 1])) else I(numeric(0)),
      curve = lapply(seq_along(times), function(t) list(depthUm = depth[t], curveUm = of_curve[t], specimensUm = spread * depth[t],
        measuringUm = part * depth[t], standardUncertaintyUm = sqrt(of_curve[t]^2 + (spread * depth[t])^2 + (part * depth[t])^2)))))
}
cases <- lapply(1:200, function(i) { repeat { found <- one(i); if (!is.null(found)) return(found) } })
write_cases(cases, "losses-by-r.json")
