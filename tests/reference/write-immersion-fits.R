# usage: Rscript tests/reference/write-immersion-fits.R, in the folder of the sources; base R (4.2.2).
# Fits the laws of loss against time, by what R brings (lm and nls), to a published immersion series of several durations:
# immersion-steel.csv, mass lost by low-carbon steel in distilled water and in sodium chloride of 2 to 5 % (g: the rates that the
# paper tells come of grams, though the head of its table says mg; the mean
# of the specimens of a medium), after N. Ali and M. A. Fulazzaky, The empirical prediction of weight change and corrosion
# rate of low-carbon steel, Heliyon 6 (2020) e05050, open access, table 4. immersion-fits.csv has what they come to.
# Nothing of it is taken from the program.
series <- read.csv("tests/reference/immersion-steel.csv", check.names = FALSE)
hours <- series$hours
# Each loss known to 10 % of itself: replicates are not published. It weighs the values, and is not made larger by the fit.
criterion <- function(rest, parameters) {
  n <- length(rest); sum(rest^2) + 2 * parameters + 2 * parameters * (parameters + 1) / (n - parameters - 1)
}
rows <- lapply(names(series)[-1], function(medium) {
  loss <- series[[medium]]; w <- 1 / (0.1 * loss)^2
  row <- function(law, fit, a, b) {
    rest <- sqrt(w) * (loss - fitted(fit)); parameters <- length(coef(fit))
    data.frame(medium = medium, law = law, a = a, b = b, chiSquare = sum(rest^2),
      p = pchisq(sum(rest^2), length(loss) - parameters, lower.tail = FALSE), aicc = criterion(rest, parameters))
  }
  line <- lm(loss ~ 0 + hours, weights = w)
  # In thousands of hours, where nls finds its steps; told in hours.
  thousand <- hours / 1000; start <- coef(lm(log(loss) ~ log(thousand)))
  power <- nls(loss ~ a * thousand^b, start = list(a = exp(start[[1]]), b = start[[2]]), weights = w)
  p <- coef(power); x <- 1.2^p[["b"]]; slope <- cbind(x, p[["a"]] * x * log(1.2))
  told <- rbind(row("linear", line, coef(line)[[1]], NA), row("power", power, p[["a"]] / 1000^p[["b"]], p[["b"]]))
  told$at1200 <- c(1200 * coef(line)[[1]], p[["a"]] * x)
  told$variance1200 <- c(1200^2 / sum(w * hours^2), drop(slope %*% summary(power)$cov.unscaled %*% t(slope)))
  told
})
write.csv(do.call(rbind, rows), "tests/reference/immersion-fits.csv", row.names = FALSE, na = "", quote = FALSE)
