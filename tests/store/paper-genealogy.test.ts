import type { Direction, TieName } from '../../src/kinds/ties.js';
import type { NewLink } from '../../src/store/entries.js';
import type { Store } from '../../src/store/store.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

/*
 * A small genealogy, worked on paper. Two heats, of which the first went into one build alone and both, blended, into another.
 *
 *   H1 ─ RC1 ─ PS1 ─┬───────── B1 ─┬─ I1 ─ K1        BAL and AN  tested R1 on C1, which stands for I1
 *                   │              └─ C1             BAL and AN2 tested R2 on C2, which stands for I2
 *                   └─ PS3 ─── B2 ─┬─ I2 ─ K2        M built B1 and B2; L consists of all that they made
 *   H2 ─ RC2 ─ PS2 ───┘            └─ C2             OP handed I1 and I2 over as HO
 */
const GENEALOGY: readonly (readonly [from: string, tie: TieName, to: string])[] = [
  ['RC1', 'contains heat', 'H1'],
  ['RC2', 'contains heat', 'H2'],
  ['PS1', 'contains receipt', 'RC1'],
  ['PS2', 'contains receipt', 'RC2'],
  ['PS3', 'contains powder state', 'PS1'],
  ['PS3', 'contains powder state', 'PS2'],
  ['B1', 'deposited', 'PS1'],
  ['B1', 'on machine', 'M'],
  ['B2', 'deposited', 'PS3'],
  ['B2', 'on machine', 'M'],
  ['I1', 'built in', 'B1'],
  ['I1', 'of lot', 'L'],
  ['I1', 'for case', 'K1'],
  ['I2', 'built in', 'B2'],
  ['I2', 'of lot', 'L'],
  ['I2', 'for case', 'K2'],
  ['C1', 'built in', 'B1'],
  ['C1', 'stands for', 'I1'],
  ['C2', 'built in', 'B2'],
  ['C2', 'stands for', 'I2'],
  ['R1', 'measured on', 'C1'],
  ['R1', 'measured with', 'BAL'],
  ['R1', 'tested by', 'AN'],
  ['R2', 'measured on', 'C2'],
  ['R2', 'measured with', 'BAL'],
  ['R2', 'tested by', 'AN2'],
  ...['B1', 'I1', 'C1', 'B2', 'I2', 'C2'].map((made) => ['L', 'consists of', made] as const),
  ['HO', 'hands over', 'I1'],
  ['HO', 'hands over', 'I2'],
  ['HO', 'handed over by', 'OP'],
];

/** What each goes back to and what it went into: all of it, and nothing more. */
const ON_PAPER: Readonly<Record<string, Readonly<Record<Direction, string>>>> = {
  H1: { back: '', forward: 'RC1 PS1 PS3 B1 B2 I1 I2 C1 C2 L K1 K2 HO' },
  H2: { back: '', forward: 'RC2 PS2 PS3 B2 I2 C2 L K2 HO' },
  RC1: { back: 'H1', forward: 'PS1 PS3 B1 B2 I1 I2 C1 C2 L K1 K2 HO' },
  RC2: { back: 'H2', forward: 'PS2 PS3 B2 I2 C2 L K2 HO' },
  PS1: { back: 'RC1 H1', forward: 'PS3 B1 B2 I1 I2 C1 C2 L K1 K2 HO' },
  PS2: { back: 'RC2 H2', forward: 'PS3 B2 I2 C2 L K2 HO' },
  PS3: { back: 'PS1 PS2 RC1 RC2 H1 H2', forward: 'B2 I2 C2 L K2 HO' },
  M: { back: '', forward: 'B1 B2 I1 I2 C1 C2 L K1 K2 HO' },
  B1: { back: 'PS1 RC1 H1 M', forward: 'I1 C1 L K1 HO' },
  B2: { back: 'PS3 PS1 PS2 RC1 RC2 H1 H2 M', forward: 'I2 C2 L K2 HO' },
  I1: { back: 'B1 PS1 RC1 H1 M C1 R1 BAL AN', forward: 'L K1 HO' },
  I2: { back: 'B2 PS3 PS1 PS2 RC1 RC2 H1 H2 M C2 R2 BAL AN2', forward: 'L K2 HO' },
  C1: { back: 'B1 PS1 RC1 H1 M R1 BAL AN', forward: 'I1 L K1 HO' },
  C2: { back: 'B2 PS3 PS1 PS2 RC1 RC2 H1 H2 M R2 BAL AN2', forward: 'I2 L K2 HO' },
  R1: { back: 'BAL AN', forward: 'C1 I1 L K1 HO' },
  R2: { back: 'BAL AN2', forward: 'C2 I2 L K2 HO' },
  BAL: { back: '', forward: 'R1 R2 C1 C2 I1 I2 L K1 K2 HO' },
  AN: { back: '', forward: 'R1 C1 I1 L K1 HO' },
  AN2: { back: '', forward: 'R2 C2 I2 L K2 HO' },
  OP: { back: '', forward: 'HO' },
  K1: { back: 'I1 B1 PS1 RC1 H1 M C1 R1 BAL AN', forward: '' },
  K2: { back: 'I2 B2 PS3 PS1 PS2 RC1 RC2 H1 H2 M C2 R2 BAL AN2', forward: '' },
  L: { back: 'B1 B2 I1 I2 C1 C2 PS1 PS2 PS3 RC1 RC2 H1 H2 M R1 R2 BAL AN AN2', forward: '' },
  HO: { back: 'I1 I2 B1 B2 C1 C2 PS1 PS2 PS3 RC1 RC2 H1 H2 M R1 R2 BAL AN AN2 OP', forward: '' },
};

const { folder, remove } = temporaryFolder();
let store: Store;

beforeAll(async () => {
  store = await openStore(folder);
  await store.change(ACTOR, async (change) => {
    for (const key of Object.keys(ON_PAPER)) {
      const own = GENEALOGY.filter(([from]) => from === key);
      const links = own.map(([, name, to]): NewLink => ({ name, to: { kind: 'thing', key: to } }));
      await change.entries.add({ kind: 'thing', key, name: '', body: { own }, links });
    }
  });
});
afterAll(async () => {
  await store.close();
  remove();
});

async function reached(key: string, direction: Direction): Promise<string[]> {
  const [entry] = await store.read.trace.named(key);
  const { entries } = await store.read.trace.reach([entry!.id], direction);
  return entries.flatMap((one) => (one.key === key ? [] : [one.key])).sort();
}

const words = (text: string): string[] => text.split(' ').filter(Boolean).sort();

it.each(Object.entries(ON_PAPER))(
  '%s goes back to, and went into, what stands on paper',
  async (key, { back, forward }) => {
    expect(await reached(key, 'back')).toEqual(words(back));
    expect(await reached(key, 'forward')).toEqual(words(forward));
  },
);

it('meets each implant on the way forward from everything that it goes back to', async () => {
  for (const implant of ['I1', 'I2']) {
    for (const key of await reached(implant, 'back')) expect(await reached(key, 'forward')).toContain(implant);
  }
});
