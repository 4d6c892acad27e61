/**
 * The published application identifiers: what their content is made of, what must stand beside them, and what must not.
 * Source: GS1 Barcode Syntax Dictionary, github.com/gs1/gs1-syntax-dictionary, commit ff2eb4b of 2026-07-27. Coupons,
 * (8110) and (8112), are left out: no device carries one.
 */
export interface Identifier {
  readonly ai: string;
  readonly parts: readonly Part[];
  /** One of these sets must stand on the same item. Empty where the identifier stands alone. */
  readonly needs: readonly (readonly RegExp[])[];
  readonly excludes: readonly RegExp[];
  /** Of a length that every reader knows by the first two digits, so that no separator need follow. */
  readonly isPredefined: boolean;
}

/** `n` digits, `x` set 82, `y` set 39, `z` base 64 for addresses. */
export type CharacterSet = 'n' | 'x' | 'y' | 'z';

/** A stretch of the content. Only the last one varies in length. */
export interface Part {
  readonly set: CharacterSet;
  readonly shortest: number;
  readonly longest: number;
  readonly isOptional: boolean;
  /** Names in `CONTENT_CHECKS`. */
  readonly checks: readonly string[];
}

type Row = readonly [identifiers: string, content: string, needs?: string, excludes?: string];

/**
 * Identifiers with one digit in brackets stand for several, a point in a pair for any digit. `own`: the same measure
 * with the decimal point elsewhere.
 */
const ROWS: readonly Row[] = [
  ['00', 'n18:mod10'],
  ['01', 'n14:mod10', '', '255 37'],
  ['02', 'n14:mod10', '37', '01 03'],
  ['03', 'n14:mod10', '', '01 02 37 235'],
  ['10', 'x..20', '01 02 03 8006 8026'],
  ['1[1356]', 'n6:month', '01 02 03 8006 8026'],
  ['12', 'n6:month', '8020'],
  ['17', 'n6:month', '01 02 03 255 8006 8026'],
  ['20', 'n2', '01 02 03 8006 8026'],
  ['21', 'x..20', '01 03 8006', '235'],
  ['22 71[0-7]', 'x..20', '01'],
  ['235', 'x..28', '01'],
  ['24[01]', 'x..30', '01 02 03 8006 8026'],
  ['242', 'n..6', '01 02 8006 8026'],
  ['243', 'x..20', '01 03'],
  ['250', 'x..30', '01+21 03+21 8006+21'],
  ['251', 'x..30', '01 03 8006'],
  ['253', 'n13:mod10 [x..17]'],
  ['254', 'x..20', '414'],
  ['255', 'n13:mod10 [n..12]', '', '01 02 415 8006 8020 8026'],
  ['30', 'n..8', '01 02'],
  ['31[0-6][0-5] 32[0-9][0-5] 35[0-267][0-5] 36[014-6][0-5]', 'n6', '01 02', 'own'],
  ['33[0-6][0-5] 34[0-9][0-5] 35[3-5][0-5] 36[237-9][0-5]', 'n6', '00 01', 'own'],
  ['337[0-5]', 'n6', '01', 'own'],
  ['37', 'n..8', '00+02 00+8026'],
  ['390[0-9]', 'n..15', '255 8020', '390. 391. 394. 8111'],
  ['391[0-9]', 'n3 n..15', '8020', '391.'],
  ['392[0-9]', 'n..15', '01+30 01+31.. 01+32.. 01+35.. 01+36..', '392. 393.'],
  ['393[0-9]', 'n3 n..15', '30 31.. 32.. 35.. 36..', '393.'],
  ['394[0-3]', 'n4', '255', '394. 8111'],
  ['395[0-5]', 'n6', '30 31.. 32.. 35.. 36..', '392. 393. 395. 8005'],
  ['400 90', 'x..30'],
  ['401 7023 8004', 'x..30:prefix'],
  ['402', 'n17:mod10'],
  ['403 4308 4319', 'x..30', '00'],
  ['41[0-467]', 'n13:mod10'],
  ['415', 'n13:mod10', '8020'],
  ['420', 'x..20', '', '421'],
  ['421', 'n3 x..9', '', '4307'],
  ['422', 'n3', '01 02 03 8006 8026', '426'],
  ['42[35]', 'n3 [n3] [n3] [n3] [n3]', '01 02 03', '426'],
  ['424', 'n3', '01 02 03', '426'],
  ['426', 'n3', '01 02 03'],
  ['427', 'x..3', '01+422 02+422 03+422'],
  ['430[01] 431[01] 4320', 'x..35:percent', '00'],
  ['430[24-6] 431[24-6]', 'x..70:percent', '00'],
  ['4303', 'x..70:percent', '4302'],
  ['4307 4317', 'x2', '00'],
  ['4309', 'n10:latitude n10:longitude', '00'],
  ['4313', 'x..70:percent', '4312'],
  ['4318', 'x..20', '00'],
  ['432[1-3]', 'n1:bit', '00'],
  ['432[45]', 'n6:month n4:time', '00'],
  ['4326', 'n6:day', '00'],
  ['4330', 'n6 [x1:minus]', '00', '4331'],
  ['4331', 'n6 [x1:minus]', '00', '4330'],
  ['4332', 'n6 [x1:minus]', '00', '4333'],
  ['4333', 'n6 [x1:minus]', '00', '4332'],
  ['7001', 'n13', '01 02 8006 8026'],
  ['7002', 'x..30', '01 02'],
  ['7003', 'n6:day n4:time', '01 02 03'],
  ['7004', 'n..4', '01+10 03+10'],
  ['7005', 'x..12', '01 02'],
  ['7006', 'n6:day', '01 02'],
  ['7007', 'n6:day [n6:day]', '01 02'],
  ['7008', 'x..3', '01 02'],
  ['7009', 'x..10', '01 02'],
  ['7010', 'x..2', '01 02 03'],
  ['7011', 'n6:day [n4:time]', '01 02 03'],
  ['7020', 'x..20', '01+416 03+416 8006+416'],
  ['7021 8012', 'x..20', '01 03 8006'],
  ['7022', 'x..20', '01+7021 03+7021 8006+7021'],
  ['703[0-9]', 'n3 x..27', '01 02'],
  ['7040', 'n1 x1 x1 x1:importer'],
  ['7041', 'x..4', '00'],
  ['723[0-9]', 'x2 x..28', '01 8004'],
  ['7240', 'x..20', '01 8006', '03'],
  ['7241', 'n2', '8017 8018'],
  ['7242', 'x..25', '8017 8018'],
  ['7250', 'n8:birthday', '8018', '7251'],
  ['7251', 'n8:birthday n4:time', '8018', '7250'],
  ['7252', 'n1:sex', '8018'],
  ['725[34]', 'x..40:percent', '8017 8018', '7256 7259'],
  ['7255', 'x..10', '8017 8018', '7256 7259'],
  ['7256', 'x..90:percent', '8017 8018'],
  ['7257', 'x..70:percent', '8018'],
  ['7258', 'x3:place', '8018+7259'],
  ['7259', 'x..40:percent', '8018', '7256'],
  ['8001', 'n4:nonzero n5:nonzero n3:nonzero n1:winding n1', '01'],
  ['8002', 'x..20'],
  ['8003', 'n1:zero n13:mod10 [x..16]'],
  ['8005', 'n6', '01 02'],
  ['8006', 'n14:mod10 n4:piece', '', '01 03 37'],
  ['8007', 'x..34', '415'],
  ['8008', 'n6:day n2:hour [n2:minute] [n2:minute]', '01 02 03'],
  ['8009', 'x..50', '00 01 03'],
  ['8010', 'y..30:prefix'],
  ['8011', 'n..12:leading', '8010'],
  ['8013', 'x..25:pair:prefix'],
  ['8014', 'x..25:pair:prefix:mixed', '01'],
  ['8017', 'n18:mod10', '', '8018'],
  ['8018', 'n18:mod10', '', '8017'],
  ['8019', 'n..10', '8017 8018'],
  ['8020', 'x..25', '415'],
  ['8026', 'n14:mod10 n4:piece', '37', '02 03 8006'],
  ['8030', 'z..90', '00 01+21 03+21 253 255 8003 8004 8006+21 8010+8011 8017 8018'],
  ['8040', 'n15', '01+21'],
  ['8041', 'n15', '01+21+8040'],
  ['8042', 'n32', '01+21+8040'],
  ['8043', 'n18 [n..2]', '01+21+8040'],
  ['8111', 'n4', '255'],
  ['8200', 'x..70', '01'],
  ['9[1-9]', 'x..90'],
];

/** First two digits of those whose length every reader knows (General Specifications, figure 7.8.5-2). */
const PREDEFINED = /^(?:0[0-4]|1[1-9]|20|3[1-6]|41)/;

const identifiers = new Map(ROWS.flatMap((row) => expand(row).map((found) => [found.ai, found])));

/** The identifier at the beginning of a text: none is the beginning of another. */
export function identifierAt(text: string): Identifier | undefined {
  return identifiers.get(text.slice(0, 2)) ?? identifiers.get(text.slice(0, 3)) ?? identifiers.get(text.slice(0, 4));
}

export const allIdentifiers = (): readonly Identifier[] => [...identifiers.values()];

function expand([written, content, needs = '', excludes = '']: Row): Identifier[] {
  const parts = words(content).map(partOf);
  const needed = words(needs).map((set) => set.split('+').map(pattern));
  return words(written)
    .flatMap(spread)
    .map((ai) => ({
      ai,
      parts,
      needs: needed,
      excludes: excludes === 'own' ? [pattern(`${ai.slice(0, 3)}.`)] : words(excludes).map(pattern),
      isPredefined: PREDEFINED.test(ai),
    }));
}

function words(text: string): string[] {
  return text.split(' ').filter((word) => word !== '');
}

function pattern(ai: string): RegExp {
  return new RegExp(`^${ai}$`);
}

/** `41[0-35]` stands for 410, 411, 412, 413 and 415. */
function spread(written: string): string[] {
  const match = /^(.*?)\[([^\]]+)\](.*)$/.exec(written);
  if (match === null) return [written];
  const [, before, digits, behind] = match as unknown as [string, string, string, string];
  const one = new RegExp(`^[${digits}]$`);
  return [...'0123456789'].filter((digit) => one.test(digit)).flatMap((digit) => spread(before + digit + behind));
}

/** `n6:day`, `x..20`, `[n..12]`. */
function partOf(written: string): Part {
  const isOptional = written.startsWith('[');
  const [size, ...checks] = written.replace(/[[\]]/g, '').split(':') as [string, ...string[]];
  const longest = Number(size.replace(/\D/g, ''));
  const shortest = size.includes('..') ? 1 : longest;
  return { set: size[0] as CharacterSet, shortest, longest, isOptional, checks };
}
