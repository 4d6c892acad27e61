# Writes what R came to: a list of cases as one JSON array, a case on each line, numbers to 12 digits; NULL leaves a name out.
json <- function(x) {
  if (is.list(x)) {
    x <- Filter(Negate(is.null), x); inner <- vapply(x, json, "")
    if (length(x) == 0) return("{}")
    if (is.null(names(x))) return(paste0("[", paste(inner, collapse = ","), "]"))
    return(paste0("{", paste0('"', names(x), '":', inner, collapse = ","), "}"))
  }
  told <- if (is.character(x)) paste0('"', x, '"') else if (is.logical(x)) tolower(as.character(x)) else sprintf("%.12g", x)
  if (length(x) == 1 && !inherits(x, "AsIs")) told else paste0("[", paste(told, collapse = ","), "]")
}
write_cases <- function(cases, name) {
  lines <- paste0("  ", vapply(cases, json, ""), collapse = ",\n")
  cat("[\n", lines, "\n]\n", sep = "", file = file.path("tests/reference", name))
}
