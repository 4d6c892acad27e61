# usage: Rscript tests/reference/write-percentile-capability.R, in the folder of the sources; base R (4.2.2).
# Draws 200 distributions with limits and tells their points at pnorm(-3), one half and pnorm(3) by the quantiles that R
# brings (Gumbel by qexp: exp(-exp(-z)) is the tail of an exponential at exp(-z)), and the indices that these give.
# percentile-capability-by-r.json has them. Nothing of it is taken from the program.
source("tests/reference/json.R")
set.seed(20310303)
names_of <- list(normal = c("mean", "sd"), lognormal = c("logMean", "logSd"), weibull = c("shape", "scale"),
  gumbel = c("location", "scale"), gamma = c("shape", "rate"))
cases <- lapply(1:200, function(i) {
  name <- names(names_of)[i %% 5 + 1]
  p <- signif(switch(name, normal = c(runif(1, -50, 300), 10^runif(1, -3, 2)), lognormal = c(runif(1, -4, 6), 10^runif(1, -2, 0.3)),
    weibull = c(10^runif(1, -0.5, 2), 10^runif(1, -3, 4)), gumbel = c(runif(1, -50, 300), 10^runif(1, -3, 2)),
    gamma = c(10^runif(1, -1, 4), 10^runif(1, -3, 3))), 6)
  threshold <- if (i %% 3 == 0 && !name %in% c("normal", "gumbel")) round(runif(1, -20, 50), 2) else NULL
  # The upper point by the upper tail, which keeps its digits.
  at <- function(q, ...) c(q(pnorm(-3), ...), q(0.5, ...), q(pnorm(-3), ..., lower.tail = FALSE))
  x <- switch(name, normal = at(qnorm, p[1], p[2]), lognormal = at(qlnorm, p[1], p[2]), weibull = at(qweibull, p[1], p[2]),
    gamma = at(qgamma, p[1], p[2]), gumbel = p[1] - p[2] * log(c(qexp(pnorm(-3), lower.tail = FALSE), qexp(0.5), qexp(pnorm(-3)))))
  x <- x + if (is.null(threshold)) 0 else threshold
  width <- x[3] - x[1]
  lower <- if (i %% 4 == 1) NULL else signif(x[1] + width * runif(1, -0.6, 0.3), 8)
  upper <- if (i %% 4 == 2) NULL else signif(x[3] + width * runif(1, -0.3, 0.6), 8)
  if (!is.null(lower) && !is.null(upper) && lower >= upper) stop("limits the wrong way round")
  ppl <- if (is.null(lower)) NULL else (x[2] - lower) / (x[2] - x[1])
  ppu <- if (is.null(upper)) NULL else (upper - x[2]) / (x[3] - x[2])
  list(input = list(distribution = list(name = name,
    parameters = c(setNames(as.list(p), names_of[[name]]), if (is.null(threshold)) NULL else list(threshold = threshold))),
    lower = lower, upper = upper),
    expected = list(p00135 = x[1], p50 = x[2], p99865 = x[3],
      pp = if (is.null(lower) || is.null(upper)) NULL else (upper - lower) / width, ppl = ppl, ppu = ppu, ppk = min(ppl, ppu)))
})
write_cases(cases, "percentile-capability-by-r.json")
