/** Faraday constant in C/mol. Source: CODATA 2018, exact since the SI of 2019 apart from the rounding of its digits. */
export const FARADAY_C_PER_MOL = 96485.33212;

/** Molar gas constant in J/(mol K). Source: CODATA 2018. */
export const GAS_CONSTANT_J_PER_MOL_K = 8.31446261815324;

/** 0 °C in kelvin. */
export const ZERO_CELSIUS_K = 273.15;

/** The standard atmosphere in kPa. */
export const STANDARD_PRESSURE_KPA = 101.325;

/** A year of 365 days, the year of the constants in ASTM G1. A year of 365.25 days gives rates larger by 0.07 %. */
export const HOURS_PER_YEAR = 8760;
export const DAYS_PER_YEAR = 365;

/** One thousandth of an inch in millimetres, exact. */
export const MIL_IN_MM = 0.0254;
