import type { Problem } from '../base/errors.js';
import { conversion } from '../base/units.js';

/** A unit of the file: so many of the SI unit, and so far from its zero. */
export interface QifUnit {
  readonly name: string;
  readonly si: string;
  readonly factor: number;
  readonly offset: number;
  readonly isPrimary: boolean;
}

/** SI units as QIF names them (Units.xsd of QIF 3.0), and their codes of UCUM. */
const SI_UNITS: ReadonlyMap<string, string> = new Map([
  ...[['meter', 'm'] as const, ['metre', 'm'] as const, ['radian', 'rad'] as const, ['newton', 'N'] as const],
  ...[['kilogram', 'kg'] as const, ['pascal', 'Pa'] as const, ['second', 's'] as const, ['kelvin', 'K'] as const],
]);
/** Factors are written with some digits. */
const FACTOR_TOLERANCE = 1e-6;
/**
 * What is wrong with the unit of a value, against the one in which the profile takes it: the file says by its factor what its
 * unit is, whatever its name.
 */
export function unitProblem(
  file: string,
  units: readonly QifUnit[],
  value: { readonly name: string; readonly unitName: string; readonly line: number },
  ucum: string,
): Problem | undefined {
  const named = value.unitName === '' ? undefined : units.filter(({ name }) => name === value.unitName);
  const told = named ?? units.filter(({ isPrimary }) => isPrimary);
  const own = told.filter(({ si }) => measuresTheSame(ucum, SI_UNITS.get(si.toLowerCase())));
  const problem = (found: string): Problem => ({
    ...{ code: 'qif-unit', file, line: value.line, field: value.name, found },
    ...{ expected: `${ucum}, in which the profile takes it`, remedy: 'correct the profile, or export in this unit' },
  });
  if (own.length > 1) return problem(`${own.length} units ${own.map(({ name }) => name).join(', ')} for one value`);
  const [unit] = own;
  // A length of which the file says no unit is one in meters (Units.xsd, LinearValueType).
  if (!unit) {
    if (named === undefined && measuresTheSame(ucum, 'm'))
      return ucum === 'm' ? undefined : problem('no unit of length, which means meters');
    return problem(
      value.unitName === ''
        ? 'no unit for it in FileUnits'
        : `the unit ${value.unitName}, which FileUnits does not tell`,
    );
  }
  const { factor, offset } = conversion(ucum, SI_UNITS.get(unit.si.toLowerCase())!);
  const isSame =
    Math.abs(unit.factor - factor) <= FACTOR_TOLERANCE * factor && Math.abs(unit.offset - offset) <= FACTOR_TOLERANCE;
  return isSame ? undefined : problem(`${unit.name}, of which one is ${unit.factor} ${unit.si}`);
}

function measuresTheSame(ucum: string, si: string | undefined): boolean {
  if (si === undefined) return false;
  try {
    conversion(ucum, si);
    return true;
  } catch {
    return false;
  }
}
