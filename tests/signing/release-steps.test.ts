import type { Gate, UnitResult } from '../../src/assessment/assessment.js';
import { gatesOf, stepsAsked } from '../../src/assessment/gates.js';
import { sha256Hex } from '../../src/dossier/canonical.js';
import type { ReleaseStep } from '../../src/dossier/release-step.js';
import type { SignedStatement, Statement } from '../../src/dossier/statement.js';
import type { Event } from '../../src/ledger/event.js';
import { unitStates } from '../../src/lots/unit-states.js';
import type { Enclosure, StateNote } from '../../src/records/enclosure.js';
import { courseOf, isFinal, standsOver } from '../../src/records/signatures.js';
import { unitObjection } from '../../src/signing/unit-objection.js';
import type { Cell } from '../support/cell.js';
import { addLoads, load, at as moment } from '../support/documents/loads.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';

/**
 * A release names its step. Sources: ISO 13485:2016 7.5.5 and 7.5.7 (sterile devices go through a validated load), 7.5.1
 * (what was approved for distribution is counted), 8.2.6 (no release before what was planned is done); 21 CFR 820.45
 * (labels and packs are looked at before release).
 */

const UNIT = 'U';
const FAMILIES = { sterile: { sterile: 'sterile' }, plain: { sterile: 'non-sterile' } } as const;
type Family = keyof typeof FAMILIES;

const AT = '2031-03-04T09:00:00Z';
const DONE = {
  steps: [
    { step: 'clean', at: AT },
    { step: 'pack', at: AT, load: 'PA' },
    { step: 'sterilise', at: AT, load: 'ST' },
  ],
  labels: { printed: 1, used: 1, destroyed: 0, inspected: { sample: 1, by: 'P', at: '2031-03-05T09:00:00Z' } },
} as never;

const LOADS = new Map<string, object>(
  [
    { load: 'PA', step: 'pack' },
    { load: 'ST', step: 'sterilise' },
  ].map((load) => [load.load, { digest: load.load, body: { ...load, by: 'P-OP', at: AT, implants: ['U'] } }]),
);
const acceptedBy = (code: string) => ({
  statement: { meaning: 'approved', subjects: [{ digest: 'ST' }], person: { code } },
});

/** Gates of the implant of a lot of which every load is accepted, but for what is given otherwise. */
const gatesOfLot = (family: Family, lot: never, more: { loads?: Map<string, object>; signatures?: unknown[] } = {}) =>
  gatesOf(
    {
      family: { body: FAMILIES[family] },
      lot: { body: lot },
      loads: more.loads ?? LOADS,
      signatures: more.signatures ?? [acceptedBy('P-QE')],
    } as never,
    UNIT,
  );

/** What happens to an implant: released for a step (s, d), rejected (r), revoked for a step (S, D), held (h), let go (l). */
type Course = string;
const MEANS: Readonly<Record<string, Partial<Statement> | Partial<Event>>> = {
  s: { meaning: 'released', step: 'sterilisation' },
  d: { meaning: 'released', step: 'distribution' },
  r: { meaning: 'rejected', step: null },
  S: { type: 'release-revoked', step: 'sterilisation' },
  D: { type: 'release-revoked', step: 'distribution' },
  h: { type: 'hold-placed' },
  l: { type: 'hold-lifted' },
};

function stateAfter(course: Course) {
  const person = { code: 'P-RE', name: 'Rita Example' };
  const all = [...course].map((letter, index) => ({ what: MEANS[letter]!, ledgerSeq: index + 1 }));
  const statements = all.flatMap(({ what, ledgerSeq }) =>
    'meaning' in what
      ? [{ ledgerSeq, signed: { statement: { ...what, person, units: [UNIT], at: '' } as never } }]
      : [],
  );
  const events = all.flatMap(({ what, ledgerSeq }) =>
    'type' in what
      ? [{ ledgerSeq, actor: 'P-QE', at: '', reason: '', event: { ...what, lot: 'L', units: [UNIT] } }]
      : [],
  );
  return unitStates([UNIT], statements, events as never);
}

function objectionAfter(
  course: Course,
  family: Family,
  act: ReleaseStep | 'rejected',
  { lot = DONE, gates = gatesOfLot(family, lot) as Gate[], unit = {} as Partial<UnitResult> } = {},
) {
  const open = gates.some(({ state }) => state !== 'passed');
  const free = stepsAsked(gates).filter((step) => step === 'sterilisation' || !open);
  const assessed = {
    serial: UNIT,
    verdict: 'conforms',
    releasable: true,
    why: [],
    open: [],
    gates,
    releasableFor: free,
  };
  return unitObjection({
    lot,
    assessment: { units: [{ ...assessed, ...unit } as UnitResult], checks: [] },
    states: stateAfter(course),
    meaning: act === 'rejected' ? 'rejected' : 'released',
    step: act === 'rejected' ? null : act,
    units: [UNIT],
  })?.code;
}

const ALL_PASSED = (['clean', 'pack', 'sterilise', 'label'] as const).map((gate): Gate => ({ gate, state: 'passed' }));

describe('the order of the steps', () => {
  it.each<[Course, Family, ReleaseStep | 'rejected', string | undefined]>([
    // Sterile: first for sterilisation, then for distribution, each once.
    ['', 'sterile', 'sterilisation', undefined],
    ['', 'sterile', 'distribution', 'earlier step open'],
    ['s', 'sterile', 'sterilisation', 'decided already'],
    ['s', 'sterile', 'distribution', undefined],
    ['sd', 'sterile', 'sterilisation', 'decided already'],
    ['sd', 'sterile', 'distribution', 'decided already'],
    // Not sterile: nothing is released for sterilisation.
    ['', 'plain', 'sterilisation', 'step not asked'],
    ['', 'plain', 'distribution', undefined],
    ['d', 'plain', 'distribution', 'decided already'],
    // A rejection is the end; it may come until the implant may be distributed.
    ['', 'sterile', 'rejected', undefined],
    ['s', 'sterile', 'rejected', undefined],
    ['sd', 'sterile', 'rejected', 'decided already'],
    ['d', 'plain', 'rejected', 'decided already'],
    ['r', 'sterile', 'sterilisation', 'decided already'],
    ['sr', 'sterile', 'distribution', 'decided already'],
    ['r', 'plain', 'rejected', 'decided already'],
    // A revocation takes back the step that it names, and what rests on it.
    ['sdD', 'sterile', 'distribution', undefined],
    ['sdD', 'sterile', 'sterilisation', 'decided already'],
    ['sdD', 'sterile', 'rejected', undefined],
    ['sS', 'sterile', 'sterilisation', undefined],
    ['sS', 'sterile', 'distribution', 'earlier step open'],
    ['sdS', 'sterile', 'distribution', 'earlier step open'],
    ['sdDS', 'sterile', 'distribution', 'earlier step open'],
    ['dD', 'plain', 'distribution', undefined],
    // A hold lies over every step.
    ['h', 'sterile', 'sterilisation', 'on hold'],
    ['sh', 'sterile', 'distribution', 'on hold'],
    ['shl', 'sterile', 'distribution', undefined],
  ])('after "%s" in a family that is %s, %s: %s', (course, family, act, code) => {
    const more = family === 'sterile' ? { gates: ALL_PASSED } : {};
    expect(objectionAfter(course, family, act, more)).toBe(code);
  });
});

describe('what keeps an implant from a step', () => {
  const held = (before: ReleaseStep): Partial<UnitResult> => ({
    releasable: false,
    releasableFor: before === 'distribution' ? ['sterilisation'] : [],
    why: [
      {
        effect: 'cannot be decided',
        check: 'results-complete',
        finding: '',
        mayBeDecided: 'no',
        conceded: false,
        before,
      },
    ],
  });

  it.each<[string, ReleaseStep, Partial<UnitResult>, string | undefined]>([
    ['a result that is due later', 'sterilisation', held('distribution'), undefined],
    ['a result that is due later', 'distribution', held('distribution'), 'held back'],
    ['a fault that is known', 'sterilisation', held('sterilisation'), 'held back'],
    ['a fault that is known', 'distribution', held('sterilisation'), 'held back'],
  ])('%s, for %s', (_, step, unit, code) => {
    const course = step === 'distribution' ? 's' : '';
    expect(objectionAfter(course, 'sterile', step, { gates: ALL_PASSED, unit })).toBe(code);
  });

  it.each<[string, object, readonly string[]]>([
    ['nothing', {}, ['clean', 'pack', 'label']],
    ['cleaning alone', { steps: [{ step: 'clean' }] }, ['pack', 'label']],
    [
      'steps of another part',
      {
        steps: [
          { step: 'clean', parts: ['V'] },
          { step: 'pack', parts: ['V'] },
        ],
      },
      ['clean', 'pack', 'label'],
    ],
    ['labels that nobody looked at', { labels: { printed: 1, used: 1, destroyed: 0 } }, ['clean', 'pack', 'label']],
    [
      'labels of which none was used',
      { labels: { printed: 1, used: 0, destroyed: 1, inspected: {} } },
      ['clean', 'pack', 'label'],
    ],
    ['everything', DONE, []],
  ])('gates with %s on record', (_, given, open) => {
    const lot = { steps: [], ...given } as never;
    const notPassed = gatesOfLot('plain', lot).filter(({ state }) => state !== 'passed');
    expect(notPassed.map(({ gate }) => gate)).toEqual(open);
    expect(objectionAfter('', 'plain', 'distribution', { lot })).toBe(open.length === 0 ? undefined : 'gates open');
  });

  const loadOf = (code: string, change: object) => {
    const found = LOADS.get(code) as { body: object };
    return new Map([...LOADS, [code, { ...found, body: { ...found.body, ...change } }]]);
  };
  it.each<[string, Parameters<typeof gatesOfLot>[2], readonly string[]]>([
    ['everything', {}, []],
    ['no load', { loads: new Map() }, ['pack', 'sterilise']],
    ['a sterile load of other parts', { loads: loadOf('ST', { implants: ['V'] }) }, ['sterilise']],
    ['a load of another step', { loads: loadOf('ST', { step: 'dry' }) }, ['sterilise']],
    ['nobody who accepted the load', { signatures: [] }, ['sterilise']],
    ['its acceptance by whoever ran it', { signatures: [acceptedBy('P-OP')] }, ['sterilise']],
  ])('gates of a sterile implant with %s', (_, more, open) => {
    const gates = gatesOfLot('sterile', DONE, more);
    expect(gates.filter(({ state }) => state === 'open').map(({ gate }) => gate)).toEqual(open);
    expect(objectionAfter('s', 'sterile', 'distribution', { gates })).toBe(
      open.length === 0 ? undefined : 'gates open',
    );
  });
});

describe('a record calls itself final', () => {
  const WITHOUT_LOAD = gatesOfLot('sterile', DONE, { loads: new Map() });
  const PLAIN = gatesOfLot('plain', DONE);
  const OPEN = gatesOfLot('plain', { steps: [], labels: undefined } as never);

  it.each<[Course, string, readonly Gate[], boolean]>([
    ['', 'every gate', PLAIN, false],
    ['d', 'every gate', PLAIN, true],
    ['d', 'no gate', OPEN, false],
    ['dD', 'every gate', PLAIN, false],
    ['dh', 'every gate', PLAIN, false],
    ['dhl', 'every gate', PLAIN, true],
    ['r', 'no gate', OPEN, true],
    ['s', 'every gate', ALL_PASSED, false],
    ['sd', 'every gate', ALL_PASSED, true],
    ['s', 'every gate but the load', WITHOUT_LOAD, false],
    ['sd', 'every gate but the load', WITHOUT_LOAD, false],
    ['sr', 'every gate but the load', WITHOUT_LOAD, true],
  ])('after "%s" through %s: %s', (course, _, gates, final) => {
    const at = (index: number) => `2031-03-05T12:00:0${index}.000Z`;
    const all = [...course].map((letter, index) => ({ ...MEANS[letter]!, beside: [], units: [UNIT], at: at(index) }));
    const signatures = all.flatMap((one) =>
      'meaning' in one ? [{ statement: one } as unknown as SignedStatement] : [],
    );
    const states = all.flatMap((one) =>
      'type' in one ? [{ ...one, what: one.type, by: '', reason: '' } as never] : [],
    );
    const lot = { body: { implants: [{ serial: UNIT, case: 'K' }] } } as never;
    const record = { number: 'LR', revision: 1, draft: false };
    const issue = { record, signatures, states, forCase: null, assessmentSha256: '' };
    expect(isFinal({ lot } as never, { units: [{ serial: UNIT, gates } as never] }, issue)).toBe(final);
  });
});

describe('a record of a lot whose clock ran two hours ahead at the release, and was set right', () => {
  const released = { ...MEANS.d!, beside: [], units: [UNIT], at: '2031-03-05T12:00:00.000Z' };
  const signed = { digest: 'release', statement: released } as unknown as SignedStatement;
  const noteOf = (what: string, text: string, more: object) =>
    ({
      what,
      units: [UNIT],
      by: '',
      at: '2031-03-05T10:30:00.000Z',
      reason: '',
      text,
      ...more,
    }) as unknown as StateNote;
  const revoked = noteOf('release-revoked', 'taken back', { step: 'distribution' });
  const turn = { serial: UNIT, before: { verdict: 'conforms' }, after: { verdict: 'does not conform' } };
  const turned = noteOf('verdicts-changed', 'other rules', { turned: { implants: [turn] } });
  const placed = (digest: string) => ({ what: '', units: [UNIT], digest });
  const listed = (note: StateNote) => placed(sha256Hex(note.text!));
  const stands = (note: StateNote, course: Enclosure['course']) => {
    const enclosure = { signatures: [signed], states: [note], course, assessmentSha256: '' };
    return [courseOf({ enclosure }, UNIT).decision, standsOver({ enclosure }, UNIT)];
  };

  it('goes by the order of the audit trail, and by time where it does not carry that order', () => {
    expect(stands(revoked, [placed('release'), listed(revoked)])).toEqual(['revoked', ['revoked']]);
    expect(stands(revoked, [listed(revoked), placed('release')])).toEqual(['released', []]);
    expect(stands(turned, [placed('release'), listed(turned)])).toEqual(['released', ['turned']]);
    expect(stands(turned, [listed(turned), placed('release')])).toEqual(['released', []]);
    for (const note of [revoked, turned]) expect(stands(note, undefined)).toEqual(['released', []]);
  });
});

const LOT = 'lots/L-1/lot.yaml';

describe('a sterile lot in a whole cell', () => {
  let cell: SigningCell;
  beforeAll(async () => {
    cell = await SigningCell.open(makeSterile);
    await cell.review('L-1');
  });
  afterAll(() => cell.close());

  const release = (step: ReleaseStep, units: readonly string[]) =>
    cell.sign('P-RE', 'lot file:L-1', { meaning: 'released', step, units });
  const [first, second] = ['L-1-I1', 'L-1-I2'] as const;

  it('waits for its release for sterilisation, and for nobody until its load is on record', async () => {
    const waits = async () =>
      (await cell.services.waiting.all()).filter(({ lot }) => lot === 'L-1').map(({ step, units }) => [step, units]);
    expect(await waits()).toEqual([['sterilisation', [first, second]]]);
    const signed = await release('sterilisation', [first, second]);
    expect(signed.statement.step).toBe('sterilisation');
    expect(await waits()).toEqual([]);
  });

  it('is not released for distribution without its load, and says which gate is missing; the refusal lies before its reviewer', async () => {
    const said = await refusalOf(release('distribution', [first]));
    expect(said).toContain('sterilised in an accepted load: not on record');
    expect(await cell.refusals('L-1')).toContainEqual(expect.stringContaining('P-RE: release units for distribution'));
  });

  it('has a record that is sealed and not final, and says so at each place', async () => {
    const issued = await cell.services.issuer.issue('L-1', 'local:tester');
    expect(issued).toMatchObject({ draft: false, final: false });
    const line = await cell.services.overview.of('L-1');
    expect(line).toMatchObject({
      state: 'released for sterilisation, not for distribution',
      closed: false,
      record: { draft: false, final: false },
    });
    expect(line.units.map(({ releasedFor }) => releasedFor)).toEqual([['sterilisation'], ['sterilisation']]);
  });

  it('names the step that is revoked, and no label, sheet or retention counts what was not distributed', async () => {
    const { stateActs, store } = cell.services;
    await stateActs.revokeRelease(await cell.prove('P-QE'), 'L-1', [second], 'the pack is torn');
    const events = await store.read.events.of({ kind: 'lot', key: 'L-1' });
    expect(events.at(-1)!.event).toMatchObject({
      type: 'release-revoked',
      lot: 'L-1',
      units: [second],
      step: 'sterilisation',
    });
    expect((await cell.services.overview.of('L-1')).state).toBe('release revoked for 1 of 2');
  });

  it('is released for distribution once its load is accepted, and not by whoever ran it', async () => {
    const one = load('ST-1', 'sterilise', '04', ['06:00', '07:00']);
    cell.cell.documents['loads/ST-1.yaml'] = { ...one, by: 'P-QE' };
    const lot = cell.cell.documents[LOT]!;
    lot.steps.push({ step: 'sterilise', at: moment('04', '07:00'), by: 'P-OP', load: 'ST-1' });
    await cell.intake();
    expect(await refusalOf(cell.sign('P-QE', 'process-load:ST-1', { meaning: 'approved' }))).toContain(
      'did not run the load',
    );
    cell.cell.documents['loads/ST-1.yaml'] = { ...one, reason: 'P-OP ran it' };
    await cell.intake();
    await cell.review('L-1');
    expect((await release('distribution', [first])).statement.step).toBe('distribution');
    // The other one was taken back an hour ago, and goes through both steps.
    cell.folder.advanceTo('2031-03-05T13:00:00Z');
    await release('sterilisation', [second]);
    await release('distribution', [second]);
    expect(await cell.services.overview.of('L-1')).toMatchObject({ closed: true });
    expect(await cell.services.issuer.issue('L-1', 'local:tester')).toMatchObject({ draft: false, final: true });
  });

  it('refuses a release without a step, and a step of another act', async () => {
    const without = cell.sign('P-RE', 'lot file:L-1', { meaning: 'released', units: [second] });
    expect(await refusalOf(without)).toContain('say what you release for');
    const reviewed = cell.sign('P-QE', 'lot file:L-1', { meaning: 'reviewed', step: 'distribution' });
    expect(await refusalOf(reviewed)).toContain('only a release names one');
  });
});

/** Cleaned and packed, and not sterilised yet. */
function makeSterile(cell: Cell): void {
  addLoads(cell);
  delete cell.documents['loads/ST-1.yaml'];
  cell.documents[LOT]!.steps.pop();
}
