# usage: Rscript tests/reference/write-gauge-studies.R, in the folder of the sources; base R (4.2.2).
# Draws 200 crossed gauge studies and takes each apart by what R brings (lm, anova, pf): gauge-studies-by-r.json has what was
# measured and what it comes to. Variances are read off the expected mean squares. Nothing of it is taken from the program.
source("tests/reference/json.R")
set.seed(20310301)
cases <- lapply(1:200, function(i) {
  p <- sample(2:7, 1); o <- sample(2:4, 1); r <- sample(2:3, 1)
  g <- expand.grid(trial = seq_len(r), operator = seq_len(o), part = seq_len(p))
  offset <- sample(c(0, 12, -40, 2500), 1); scale <- sample(c(0.02, 1, 5), 1)
  noise <- sample(c(0, 0.2, 1), 3, replace = TRUE)
  x <- offset + scale * (rnorm(p)[g$part] + noise[1] * rnorm(o)[g$operator] +
    noise[2] * rnorm(o * p)[(g$part - 1) * o + g$operator] + max(0.05, noise[3]) * rnorm(nrow(g)))
  x <- round(x, if (scale < 1) 5 else 3)
  # R loses digits of small spreads far from zero: it is given the deviations, which have the same squares.
  y <- x - offset
  lines <- anova(lm(y ~ part * operator, data = transform(g, part = factor(part), operator = factor(operator))))
  ms <- lines[["Mean Sq"]]; df <- lines[["Df"]]; names(ms) <- names(df) <- c("part", "operator", "interaction", "rest")
  against <- function(name, of) {
    f <- ms[[name]] / ms[[of]]
    list(sumSquares = ms[[name]] * df[[name]], df = df[[name]], f = f, p = pf(f, df[[name]], df[[of]], lower.tail = FALSE))
  }
  interaction <- max(0, (ms[["interaction"]] - ms[["rest"]]) / r)
  operator <- max(0, (ms[["operator"]] - ms[["interaction"]]) / (p * r))
  part <- max(0, (ms[["part"]] - ms[["interaction"]]) / (o * r))
  gauge <- ms[["rest"]] + interaction + operator
  lower <- if (i %% 4 == 0) NULL else offset - 4 * scale; upper <- if (i %% 4 == 1) NULL else offset + 5 * scale
  measured <- lapply(split(x, g$part), function(of) lapply(unname(split(of, g$operator[g$part == 1])), I))
  list(input = list(measurements = unname(measured), lower = lower, upper = upper), expected = list(
    anova = list(part = against("part", "interaction"), operator = against("operator", "interaction"),
      interaction = against("interaction", "rest"),
      repeatability = list(sumSquares = ms[["rest"]] * df[["rest"]], df = df[["rest"]])),
    components = list(part = part, operator = operator, interaction = interaction, repeatability = ms[["rest"]],
      reproducibility = operator + interaction, gauge = gauge, total = gauge + part),
    toleranceShare = if (is.null(lower) || is.null(upper)) NULL else 6 * sqrt(gauge) / (upper - lower),
    studyShare = sqrt(gauge / (gauge + part)), distinctCategories = floor(1.41 * sqrt(part / gauge))))
})
write_cases(cases, "gauge-studies-by-r.json")
