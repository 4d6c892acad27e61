/** A computed quantity as pages and records show it: four significant digits unless told otherwise. */
export const figureText = (value: number | null, digits = 4): string =>
  value === null ? 'not stated' : String(Number(value.toPrecision(digits)));
