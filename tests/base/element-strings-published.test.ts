import fs from 'node:fs';
import { contentFault } from '../../src/base/element-strings/content.js';
import { allIdentifiers, type CharacterSet, type Identifier } from '../../src/base/element-strings/identifiers.js';

/**
 * The table of application identifiers and the checks of their content against the published dictionary and the test vectors of
 * its reference checks (tests/reference/gs1).
 */

/** Our names of the checks of the dictionary; undefined for what is not looked up, or follows from the characters alone. */
const OUR_CHECKS: Readonly<Record<string, string | undefined>> = {
  ...{
    csum: 'mod10',
    csumalpha: 'pair',
    yymmdd: 'day',
    yymmd0: 'month',
    yyyymmdd: 'birthday',
    hhmi: 'time',
    hh: 'hour',
  },
  ...{ mi: 'minute', ss: 'minute', pieceoftotal: 'piece', nonzero: 'nonzero', zero: 'zero', yesno: 'bit' },
  ...{ winding: 'winding', hyphen: 'minus', nozeroprefix: 'leading', hasnondigit: 'mixed' },
  ...{ gcppos1: 'prefix', gcppos2: undefined, pcenc: 'percent', latitude: 'latitude', longitude: 'longitude' },
  ...{ iso5218: 'sex', importeridx: 'importer', posinseqslash: 'place' },
  ...{ iso3166: undefined, iso3166999: undefined, iso3166alpha2: undefined, iso4217: undefined, iban: undefined },
  ...{ mediatype: undefined, packagetype: undefined, couponcode: undefined, couponposoffer: undefined },
};
const COUPONS = ['8110', '8112'];

interface Entry {
  readonly ai: string;
  readonly isPredefined: boolean;
  readonly parts: readonly unknown[];
  readonly needs: readonly string[];
  readonly excludes: readonly string[];
}

/** Each identifier of the dictionary, read by what its own head says of its form. */
function published(): Entry[] {
  const lines = fs.readFileSync('tests/reference/gs1/gs1-syntax-dictionary.txt', 'utf8').split('\n');
  return lines
    .filter((line) => /^\d/.test(line))
    .flatMap((line) => {
      const [range = '', ...rest] = line.replace(/#.*/, '').trim().split(/\s+/);
      const flags = /^[*?!"$%&'()+,\-./:;<=>@[\\\]^_`{|}~]+$/.test(rest[0] ?? '') ? rest.shift()! : '';
      const specification = rest.filter((word) => /^\[?[NXYZ]/.test(word));
      const attributes = rest.filter((word) => !/^\[?[NXYZ]/.test(word));
      const of = (name: string) =>
        attributes
          .filter((word) => word.startsWith(`${name}=`))
          .flatMap((word) => word.slice(name.length + 1).split(','));
      const [first = '', last = first] = range.split('-');
      const count = Number(last) - Number(first) + 1;
      return Array.from({ length: count }, (_, index) => ({
        ai: String(Number(first) + index).padStart(first.length, '0'),
        isPredefined: flags.includes('*'),
        parts: specification.map(partOf),
        needs: of('req').sort(),
        excludes: of('ex').sort(),
      }));
    });
}

function partOf(word: string) {
  const isOptional = word.startsWith('[');
  const [type = '', ...checks] = word.replace(/[[\]]/g, '').split(',');
  const [, set = '', dots, digits] = /^([NXYZ])(\.\.)?(\d+)$/.exec(type)!;
  const longest = Number(digits);
  return {
    ...{ set: set.toLowerCase(), shortest: dots === undefined ? longest : 1, longest, isOptional },
    checks: checks.flatMap((name) => {
      expect(Object.hasOwn(OUR_CHECKS, name), name).toBe(true);
      // That four digits begin a number of digits need not be asked.
      return (set === 'N' && name === 'gcppos1' ? undefined : OUR_CHECKS[name]) ?? [];
    }),
  };
}

const ENTRIES = published().filter(({ ai }) => !COUPONS.includes(ai));

it('knows the identifiers of the published dictionary, each with its parts, checks and length, and no other', () => {
  const own = new Map(allIdentifiers().map((one) => [one.ai, one]));
  expect([...own.keys()].sort()).toEqual(ENTRIES.map(({ ai }) => ai).sort());
  const told = ({
    parts,
    isPredefined,
  }: Pick<Identifier, 'isPredefined'> & { readonly parts: readonly unknown[] }) => ({
    parts,
    isPredefined,
  });
  for (const entry of ENTRIES) expect(told(own.get(entry.ai)!), entry.ai).toEqual(told(entry));
});

/** `31nn` stands for any digits. */
const isMeant = (pattern: string, ai: string) => new RegExp(`^${pattern.replaceAll('n', '\\d')}$`).test(ai);

it('knows what has to stand beside each of them, and what must not', () => {
  const own = new Map(allIdentifiers().map((one) => [one.ai, one]));
  const all = [...own.keys()];
  const matching = (patterns: readonly RegExp[]) => all.filter((ai) => patterns.some((one) => one.test(ai)));
  for (const { ai, needs, excludes } of ENTRIES) {
    const one = own.get(ai)!;
    const meant = excludes.flatMap((pattern) => all.filter((other) => other !== ai && isMeant(pattern, other)));
    expect(
      matching(one.excludes)
        .filter((other) => other !== ai)
        .sort(),
      `${ai} excludes`,
    ).toEqual([...new Set(meant)].sort());
    const sets = (given: readonly (readonly string[])[]) => given.map((set) => set.join(' + ')).sort();
    const told = one.needs.map((set) => set.map((pattern) => all.filter((other) => pattern.test(other)).join('|')));
    const wanted = needs.map((set) =>
      set.split('+').map((pattern) => all.filter((other) => isMeant(pattern, other)).join('|')),
    );
    expect(sets(told), `${ai} needs`).toEqual(sets(wanted));
  }
});

/** Where a check stands in the dictionary: the characters and the length that go with it. */
const FORMS: Readonly<Record<string, readonly [set: CharacterSet, shortest: number, longest: number]>> = {
  ...{ csetnumeric: ['n', 1, 99], cset39: ['y', 1, 99], cset64: ['z', 1, 999], cset82: ['x', 1, 99] },
  ...{ csum: ['n', 1, 18], csumalpha: ['x', 1, 25], yymmdd: ['n', 6, 6], yymmd0: ['n', 6, 6], yyyymmdd: ['n', 8, 8] },
  ...{ hhmi: ['n', 4, 4], hh: ['n', 2, 2], mi: ['n', 2, 2], ss: ['n', 2, 2], pieceoftotal: ['n', 4, 4] },
  ...{ nonzero: ['n', 1, 99], zero: ['n', 1, 99], yesno: ['n', 1, 1], winding: ['n', 1, 1], hyphen: ['x', 1, 1] },
  ...{ nozeroprefix: ['n', 1, 99], hasnondigit: ['x', 1, 99], pcenc: ['x', 1, 99], latitude: ['n', 10, 10] },
  ...{ longitude: ['n', 10, 10], iso5218: ['n', 1, 1], importeridx: ['x', 1, 1], posinseqslash: ['x', 1, 9] },
};

const VECTORS = fs
  .readFileSync('tests/reference/gs1/vectors.jsonl', 'utf8')
  .trimEnd()
  .split('\n')
  .map((line) => JSON.parse(line) as [check: string, text: string, passes: boolean]);

it.each(Object.keys(FORMS))('says what the reference check %s says of each of its test vectors', (name) => {
  const [set, shortest, longest] = FORMS[name]!;
  const own = OUR_CHECKS[name];
  const checks = own === undefined ? [] : [own];
  const identifier: Identifier = {
    ...{ ai: '00', needs: [], excludes: [], isPredefined: false },
    parts: [{ set, shortest, longest, isOptional: false, checks }],
  };
  // A reference check may take other lengths than the dictionary ever gives it; one that it passes is then not asked here.
  const vectors = VECTORS.filter(
    ([check, text, passes]) => check === name && (!passes || (text.length >= shortest && text.length <= longest)),
  );
  expect(vectors.length).toBeGreaterThan(1);
  const wrong = vectors.filter(([, text, passes]) => (contentFault(identifier, text, 2026) === undefined) !== passes);
  expect(wrong).toEqual([]);
});
