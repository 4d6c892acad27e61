import { convert } from '../../../base/units.js';
import { readReported } from '../../../dossier/reported-value.js';
import { ABSENT } from '../absent.js';
import { limitsText } from '../limits.js';
import { type CheckPhrases, CONCEDE, ifTold, PAIRS, readFact, type Told } from '../phrase.js';

const what = ({ material, receipt }: Told): string => `${material}, receipt ${receipt}`;

/** A limit may have one side only, and what is for information has none. */
function range(facts: Told): string {
  const [lower, upper] = [ifTold(facts, 'lower'), ifTold(facts, 'upper')];
  const ordered = ifTold(facts, 'ordered');
  const limits = lower === undefined && upper === undefined ? 'none, for information' : limitsText({ lower, upper });
  return `${limits} ${facts.limitUnit}${ordered === undefined ? '' : ` by ${ordered}`}`;
}

/** As it was stated, and in the unit of the limit where that is another one: `0.0060 % (60 [ppm])`. */
export function statedText({ value, unit }: { value: string; unit: string }, limitUnit: string): string {
  if (unit === limitUnit) return `${value} ${unit}`;
  const { qualifier, number } = readReported(value);
  return `${value} ${unit} (${qualifier}${convert(number, unit, limitUnit)} ${limitUnit})`;
}

export const certificatesWithinLimits: CheckPhrases = {
  title: 'Certificates complete and within limits',
  asks: 'Does every material certificate, and every own test, state what the specifications ask for, within its limits?',
  recompute: `For each build and each receipt that went into it. Asked of it are the limits for its material under "materials" of the
specification, and the "lines" of the "material-specification" that it names; skip it where there are none. Of lines with "from"
certificate, and of all those under "materials": "no certificate" where it has none. With one "transcription not checked" where
nobody but "transcribedBy" signed "checked" on it; and for each the line with its property: "line missing", else how it stands. Of
lines with "from" own test: each entry of "tests" with the property in the powder states that have the receipt among their "inputs";
"own test missing" where there is none, unless the material specification has "skipTest". How a value stands: "units do not compare"
where it cannot be converted to the unit of the limit, or, of any "category" but gas, where one code says a share of volume or of
amount of substance and the other does not; "basis not stated" where, of gas, the limit says a share of what it is and the value
does not; else "outside limits" [does not conform] (C), or "not decidable" (C). A code says mass as in mg/kg or with {mass}, volume
as in mL/L or with {vol}. Implants: those of the build. Does not apply when "materials" is empty and no material specification is
in the lot file.`,
  basis: ({ certificates }) =>
    readFact(PAIRS, certificates)
      .map(([number, receipt]) => `certificate ${number} of receipt ${receipt}`)
      .join('; '),
  doesNotApply: 'no specification limits a property of a material',
  rules: {
    'no certificate': (facts) => ({
      says: `${what(facts)} went into ${facts.build} and has no certificate.`,
      clearedBy: 'Operator: take in the certificate. "Certificate to follow" never releases.',
    }),
    'transcription not checked': (facts) => ({
      says: `Certificate ${facts.certificate} of ${what(facts)} was transcribed by ${facts.transcribedBy} and checked by ${facts.claimedBy === '' ? ABSENT.nobody : `${facts.claimedBy}, as the file claims and nobody signed`}.`,
      clearedBy: 'A second person: compare each line with the certificate and sign it as checked.',
    }),
    'line missing': (facts) => ({
      says: `Certificate ${facts.certificate} of ${what(facts)} states no ${facts.property} (limit ${range(facts)}).`,
      clearedBy: 'Quality engineer: get the value from the supplier or have it measured.',
    }),
    'own test missing': (facts) => ({
      says: `${facts.property} of ${what(facts)} was not tested (limit ${range(facts)}).`,
      clearedBy: 'Analyst: test it, and take in the result with the powder state that it went into.',
    }),
    'units do not compare': (facts) => ({
      says: `${facts.property} of ${what(facts)} is stated as ${facts.value} ${facts.unit}, which does not compare with ${range(facts)}.`,
      clearedBy: 'Whoever transcribed it: compare the unit with the certificate. Shares of mass and of volume differ.',
    }),
    'basis not stated': (facts) => ({
      says: `${facts.property} of ${what(facts)} is stated as ${facts.value} ${facts.unit}, without saying a share of what; the limit is ${range(facts)}.`,
      clearedBy:
        'Whoever transcribed it: say the share of what it is, as [ppm]{vol} or mg/kg do, if the certificate says it; else ask the supplier.',
    }),
    'outside limits': (facts) => ({
      says: `${facts.property} of ${what(facts)} is ${statedText(facts, facts.limitUnit)}, limit ${range(facts)}.`,
      clearedBy: CONCEDE,
    }),
    'not decidable': (facts) => ({
      says: `${facts.property} of ${what(facts)} is reported as ${statedText(facts, facts.limitUnit)}: whether it keeps ${range(facts)} is open.`,
      clearedBy: 'Analyst: have it measured by a method whose detection limit lies below the limit.',
    }),
  },
};
