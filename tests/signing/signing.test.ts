import { vi } from 'vitest';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { faultOfStatement, soleSubject } from '../../src/dossier/statement.js';
import type { StateNote } from '../../src/records/enclosure.js';
import { provenBy, sealOf } from '../../src/records/record-proofs.js';
import { decisionOf } from '../../src/records/signatures.js';
import { courseFaults } from '../../src/records/told-course.js';
import { thingFrom } from '../../src/signing/thing.js';
import { addLot } from '../support/cell.js';
import { attackDatabase } from '../support/intruder.js';
import { programHold } from '../support/program-hold.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';

const CLEAN = ['L-2', 'L-3', 'L-4', 'L-5', 'L-6', 'L-7'];
const units = (lot: string) => [`${lot}-I1`, `${lot}-I2`];

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    for (const [index, lot] of CLEAN.entries())
      addLot(what, lot, 102 + index, `2031-02-1${index}`, { rm: 230, thickness: 1.5 });
    // Implant 2 is too thick: the specification ends at 1.55 mm.
    what.sheets['lots/L-7/results/size.csv']![1]!.value = '1.700';
  });
});
afterAll(() => cell.close());

const standing = async (lot: string) =>
  cell.services.standings.of(lot, (await cell.services.assessor.assess(lot, 'local:tester')).facts);
const decisions = async (lot: string) => (await standing(lot)).units.map(({ decision }) => decision);

describe('who signs', () => {
  it('is nobody without the password of their own', async () => {
    expect(await refusalOf(cell.services.accounts.prove('P-QE', 'nine loud lanterns'))).toContain(
      'identifier or password is wrong',
    );
  });

  it('is nobody with an object that looks like a proof', async () => {
    const real = await cell.prove('P-QE');
    for (const forged of [{ ...real }, Object.create(real), { person: 'P-QE', name: 'Quentin Example', at: real.at }]) {
      const act = cell.services.signing.sign(forged, { things: [thingFrom('lot file:L-1')], meaning: 'reviewed' });
      expect(await refusalOf(act)).toBe('REFUSED: this needs identifier and password');
      expect(await refusalOf(cell.services.stateActs.placeHold(forged, 'L-1', ['L-1-I1'], 'forged'))).toBe(
        'REFUSED: this needs identifier and password',
      );
    }
  });

  it('is the person of the proof: whatever the request is, the statement names who gave the password', async () => {
    const proof = await cell.prove('P-RE');
    const act = cell.services.signing.sign(proof, { things: [thingFrom('lot file:L-1')], meaning: 'reviewed' });
    expect(await refusalOf(act)).toContain('needs the role quality engineer');
    expect(await cell.refusals('L-1')).toEqual([expect.stringMatching(/^P-RE: review a lot \(lot file L-1\): /)]);
  });

  it('proves it for each act: one proof serves once, for signatures and for acts on states alike', async () => {
    const spent = await cell.prove('P-QE');
    const { signing, stateActs } = cell.services;
    await stateActs.placeHold(spent, 'L-1', ['L-1-I1'], 'label unreadable');
    const again = 'REFUSED: each act needs the password again';
    expect(await refusalOf(stateActs.liftHold(spent, 'L-1', ['L-1-I1'], 'label replaced'))).toBe(again);
    const things = [thingFrom('lot file:L-1')];
    expect(await refusalOf(signing.sign(spent, { things, meaning: 'reviewed' }))).toBe(again);
    await stateActs.liftHold(await cell.prove('P-QE'), 'L-1', ['L-1-I1'], 'label replaced');
    const used = await cell.prove('P-RE');
    await refusalOf(signing.sign(used, { things, meaning: 'reviewed' }));
    expect(await refusalOf(signing.sign(used, { things, meaning: 'reviewed' }))).toBe(again);
  });
});

describe('the order of a lot', () => {
  it('is review, then release; a release without a review is refused and stands before the reviewer', async () => {
    expect(await refusalOf(cell.release('L-2', units('L-2')))).toContain('nobody has reviewed this lot file');
    const review = await cell.review('L-2');
    expect(review.statement.beside.map(({ kind }) => kind)).toEqual(['assessment', 'summary', 'review list', 'course']);
    expect(await cell.refusals('L-2')).toEqual([
      expect.stringMatching(/^P-RE: release units for distribution \(lot file L-2\): nobody has reviewed/),
    ]);
    const released = await cell.release('L-2', ['L-2-I1']);
    expect(released.statement).toMatchObject({
      meaning: 'released',
      step: 'distribution',
      units: ['L-2-I1'],
      subjects: [{ key: 'L-2', digest: soleSubject(review.statement).digest }],
      person: { code: 'P-RE', name: 'Rita Example', role: 'releaser', deputyFor: null },
      at: '2031-03-05T12:00:00.000Z',
      offset: '+00:00',
    });
    expect(faultOfStatement(released, cell.services.store.key.publicPem)).toBeUndefined();
    expect((await standing('L-2')).state).toBe('1 of 2 released for distribution; 1 not decided');
    expect(await refusalOf(cell.release('L-2', ['L-2-I1']))).toContain(
      'L-2-I1 was released for distribution by Rita Example (P-RE) at',
    );
    expect(await refusalOf(cell.reject('L-2', ['L-2-I1'], 'scratched'))).toContain(
      'was released for distribution by Rita Example',
    );
    await cell.reject('L-2', ['L-2-I2'], 'scratched in the store');
    expect((await standing('L-2')).state).toBe('1 of 2 released for distribution; 1 rejected');
  });

  it('lets one of two win who release the same unit at once, and tells the other who was faster', async () => {
    await cell.review('L-3');
    const both = await Promise.allSettled([cell.release('L-3', units('L-3')), cell.release('L-3', units('L-3'))]);
    expect(both.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
    const lost = both.find((one): one is PromiseRejectedResult => one.status === 'rejected')!;
    expect(String(lost.reason.message)).toMatch(
      /L-3-I1 was released for distribution by Rita Example \(P-RE\) at .* already/,
    );
    const statements = await cell.services.store.read.signatures.of({ kind: 'lot file', key: 'L-3' });
    expect(statements.filter(({ signed }) => signed.statement.meaning === 'released')).toHaveLength(1);
  });

  it('starts again when a fact changes between review and release, and says what changed', async () => {
    await cell.review('L-4');
    const sheet = cell.cell.sheets['lots/L-4/results/size.csv']!;
    sheet[0] = { ...sheet[0], value: '1.505', reason: 'read from the wrong line' };
    await cell.intake();
    expect(await refusalOf(cell.release('L-4', units('L-4')))).toContain(
      'nobody has reviewed this lot file as it stands now',
    );
    const [before] = await cell.services.preview.all([thingFrom('lot file:L-4')], 'reviewed', 'P-QE');
    expect(before!.changes).toContainEqual(expect.stringMatching(/L-4-I1 .* was 1\.501 mm and is 1\.505 mm/));
    expect(before!.beside.reviewList.map(({ kind }) => kind)).toEqual(
      expect.arrayContaining(['correction', 'refused act']),
    );
    expect(before!.rulesOut).toEqual([
      { act: 'release units for sterilisation', stillMay: ['P-RE'] },
      { act: 'release units for distribution', stillMay: ['P-RE'] },
    ]);
    await cell.review('L-4');
    await cell.release('L-4', units('L-4'));
    expect(await decisions('L-4')).toEqual(['released', 'released']);
  });

  it('keeps a release when later facts come, and shows a changed covered value as under assessment', async () => {
    const sheet = cell.cell.sheets['lots/L-4/results/size.csv']!;
    sheet[0] = { ...sheet[0], value: '1.506', reason: 'the gauge was read again' };
    await cell.intake();
    const [first, second] = (await standing('L-4')).units;
    expect(first!.decision).toBe('released');
    expect(first!.underAssessment).toEqual([expect.stringContaining('was 1.505 mm and is 1.506 mm')]);
    expect(second).toMatchObject({ decision: 'released', underAssessment: [] });
  });

  it('refuses a unit on hold until the hold is lifted, and a unit that does not conform whatever is lifted', async () => {
    await cell.review('L-7');
    const { stateActs } = cell.services;
    await stateActs.placeHold(await cell.prove('P-OP'), 'L-7', ['L-7-I1'], 'fell to the floor');
    expect(await refusalOf(cell.release('L-7', ['L-7-I1']))).toContain('L-7-I1 is on hold: fell to the floor');
    expect(await refusalOf(stateActs.liftHold(await cell.prove('P-OP'), 'L-7', ['L-7-I1'], 'looks fine'))).toContain(
      '"lift a hold" needs the role quality engineer or regulatory',
    );
    await stateActs.liftHold(await cell.prove('P-QE'), 'L-7', ['L-7-I1'], 'looked at under the microscope');
    await cell.review('L-7').catch(() => undefined);
    expect(await refusalOf(cell.release('L-7', ['L-7-I1', 'L-7-I2']))).toContain('L-7-I2 may not be released');
    expect(await decisions('L-7')).toEqual(['open', 'open']);
    await cell.release('L-7', ['L-7-I1']);
    expect(await refusalOf(cell.reject('L-7', ['L-7-I2'], '  '))).toContain('a rationale');
    await cell.reject('L-7', ['L-7-I2'], 'too thick by 0.15 mm');
    expect((await standing('L-7')).state).toBe('1 of 2 released for distribution; 1 rejected');
  });

  it('revokes a release without erasing it, and lets the unit be released again', async () => {
    await cell.review('L-5');
    await cell.release('L-5', units('L-5'));
    const { stateActs, store } = cell.services;
    const revoke = async (person: string, what = ['L-5-I1']) =>
      stateActs.revokeRelease(await cell.prove(person), 'L-5', what, 'the surgeon reports a wrong side');
    expect(await refusalOf(revoke('P-AN'))).toContain('"revoke a release" needs the role');
    await revoke('P-QE');
    expect(await refusalOf(revoke('P-QE'))).toBe('CONFLICT: L-5-I1 is not released');
    expect((await standing('L-5')).state).toBe('release revoked for 1 of 2');
    const statements = await store.read.signatures.of({ kind: 'lot file', key: 'L-5' });
    expect(statements.filter(({ signed }) => signed.statement.meaning === 'released')).toHaveLength(1);
    await cell.review('L-5').catch(() => undefined);
    await cell.release('L-5', ['L-5-I1']);
    expect((await standing('L-5')).state).toBe('released for distribution');
    // The clock of the folder stands still: the same words of the same person are two statements, for each names what it
    // follows upon.
    await revoke('P-QE');
    expect(await decisions('L-5')).toEqual(['revoked', 'released']);
    await cell.release('L-5', ['L-5-I1']);
    expect((await standing('L-5')).state).toBe('released for distribution');
  });

  it('binds whoever signs to all that befell the lot before: a record that leaves any of it out, or turns it, is named', async () => {
    const { store, assessor } = cell.services;
    const whoever = { forCase: null, tellsOf: () => true };
    const assessed = await assessor.assess('L-5', 'local:tester');
    const issue = await provenBy(store, 'L-5', assessed, await sealOf(store), whoever);
    const [signatures, states, course] = [issue.signatures, issue.states, issue.course!];
    const told = { signatures, states, course, forCase: null };
    expect([states.map(({ what }) => what), course.length]).toEqual([
      ['act-refused', 'release-revoked', 'release-revoked'],
      states.length + signatures.length,
    ]);
    expect(courseFaults(told)).toEqual([]);
    // The order of the audit trail counts, where the times are the same.
    expect(decisionOf({ enclosure: told }, 'L-5-I1')).toBe(signatures.at(-1));

    const digestOf = (note: StateNote) => sha256Hex(note.signed?.text ?? note.text!);
    const without = (note: StateNote) => ({
      ...told,
      states: states.filter((one) => one !== note),
      course: course.filter(({ digest }) => digest !== digestOf(note)),
    });
    const named = (record: typeof told) => courseFaults(record).map(({ code }) => code);
    for (const note of states) {
      expect(named(without(note))).toContain('not what the signer had before them');
      expect(named({ ...told, states: without(note).states })).toEqual(['told otherwise than listed']);
    }
    const unsigned = { ...told, signatures: signatures.slice(1), course: course.slice(1) };
    expect(named(unsigned)).toContain('not what the signer had before them');
    const turned = [...course.slice(0, -2), course.at(-1)!, course.at(-2)!];
    expect(named({ ...told, course: turned })).toEqual(['not what the signer had before them']);
    const { course: _, ...bare } = told;
    expect(courseFaults(bare).length).toBeGreaterThan(signatures.length);
    // A copy for one case hides what befell others, and nothing that befell its own.
    const { body } = assessed.facts.lot;
    const [own, other] = body.implants.map((implant) => implant.case!);
    const copyOf = async (forCase: string) => {
      const { signatures, states, course } = await provenBy(store, 'L-5', assessed, await sealOf(store), {
        ...whoever,
        forCase,
      });
      return { signatures, states, course: course!, forCase };
    };
    const copy = await copyOf(own!);
    expect([courseFaults(copy, body), courseFaults(await copyOf(other!), body)]).toEqual([[], []]);
    expect(copy.states.filter(({ what }) => what === 'release-revoked')).toHaveLength(2);
    const hidden = copy.states.filter(({ what }) => what !== 'release-revoked');
    expect(courseFaults({ ...copy, states: hidden }, body).map(({ code }) => code)).toEqual([
      'told otherwise than listed',
    ]);
    // What came behind the last statement is all that can be left out unseen: then an older record says the same.
    const last = { signatures: signatures.slice(0, -1), states: states.slice(0, -1), course: course.slice(0, -2) };
    expect(courseFaults({ ...told, ...last })).toEqual([]);
  });

  it('rests on nothing from which somebody with the database took a hold or a statement away, and no record does', async () => {
    const { stateActs, store, assessor } = cell.services;
    await stateActs.placeHold(await cell.prove('P-QE'), 'L-4', ['L-4-I1'], 'a crack was heard');
    await cell.review('L-4');
    const assessed = await assessor.assess('L-4', 'local:tester');
    const seal = await sealOf(store);
    const issue = () => provenBy(store, 'L-4', assessed, seal, { forCase: null, tellsOf: () => true });
    const refused = {
      code: 'ALTERED',
      message: expect.stringMatching(/^what .* is not there as it was recorded|^event \d+, hold-/),
    };
    for (const [takeAway, putBack] of [
      [
        `DELETE FROM "Event" WHERE type = 'hold-placed' AND subjectKey = 'L-4'`,
        'INSERT INTO "Event" SELECT * FROM kept',
      ],
      [
        `UPDATE "Event" SET subjectKey = 'L-X' WHERE type = 'hold-placed' AND subjectKey = 'L-4'`,
        `UPDATE "Event" SET subjectKey = 'L-4' WHERE subjectKey = 'L-X'`,
      ],
      [
        `UPDATE "Event" SET type = 'hold-lifted', body = replace(body, 'hold-placed', 'hold-lifted') WHERE type = 'hold-placed' AND subjectKey = 'L-4'`,
        `UPDATE "Event" SET type = 'hold-placed', body = replace(body, 'hold-lifted', 'hold-placed') WHERE type = 'hold-lifted' AND subjectKey = 'L-4'`,
      ],
    ] as const) {
      await attackDatabase(store.folder.path, (sql) => {
        sql.exec(`CREATE TEMP TABLE kept AS SELECT * FROM "Event" WHERE type = 'hold-placed' AND subjectKey = 'L-4'`);
        sql.exec('DROP TABLE IF EXISTS "KeptByTest"; CREATE TABLE "KeptByTest" AS SELECT * FROM kept');
        sql.exec(takeAway);
      });
      await expect(cell.release('L-4', ['L-4-I1'])).rejects.toMatchObject(refused);
      await expect(issue()).rejects.toMatchObject(refused);
      await attackDatabase(store.folder.path, (sql) => {
        sql.exec('CREATE TEMP TABLE kept AS SELECT * FROM "KeptByTest"; DROP TABLE "KeptByTest"');
        sql.exec(putBack);
      });
    }
    expect((await issue()).states.map(({ what }) => what)).toContain('hold-placed');
    expect(await refusalOf(cell.release('L-4', ['L-4-I1']))).toMatch(/^REFUSED: /);
    expect(await store.verifyLedger()).toMatchObject({ ok: true });
  });

  it('knows the units of a lot, and no others', async () => {
    await cell.review('L-6');
    expect(await refusalOf(cell.release('L-6', ['L-1-I1']))).toContain('L-1-I1 is no unit of this lot');
    expect(await refusalOf(cell.release('L-6', []))).toContain('serials of the units');
  });
});

describe('a signature stays where it was given', () => {
  it('does not stand on another lot: what was reviewed there is not reviewed here', async () => {
    const [other] = (await cell.services.store.read.signatures.of({ kind: 'lot file', key: 'L-6' })).map(
      ({ signed }) => signed,
    );
    const subject = soleSubject(other!.statement);
    const moved = { ...other!, statement: { ...other!.statement, subjects: [{ ...subject, key: 'L-1' }] } };
    expect(faultOfStatement(moved, cell.services.store.key.publicPem)).toBe('another digest');
    await expect(cell.services.store.change('program', (change) => change.signatures.add(other!))).rejects.toThrow();
    expect(await refusalOf(cell.release('L-1', ['L-1-I1']))).toContain('nobody has reviewed');
  });

  it('refuses a thing that has changed since the person saw it', async () => {
    const digest = 'a'.repeat(64);
    expect(await refusalOf(cell.sign('P-QE', `lot file:L-1#${digest}`, { meaning: 'reviewed' }))).toMatch(
      /^CONFLICT: lot file of L-1 has changed since you looked at it/,
    );
  });

  it('is on one lot file at a time', async () => {
    const before = await cell.refusals('L-1');
    const things = ['lot file:L-6', 'lot file:L-1'];
    const said = await refusalOf(
      cell.sign('P-RE', things, { meaning: 'released', step: 'distribution', units: ['L-6-I1'] }),
    );
    expect(said).toContain('found things of L-1, L-6; expected things of one lot');
    expect(await decisions('L-6')).toEqual(['open', 'open']);
    expect(await cell.refusals('L-1')).toEqual(before);
  });

  it('is not given twice by the same person', async () => {
    expect(await refusalOf(cell.review('L-6'))).toMatch(/you have signed exactly this already/);
  });

  it('is refused when the clock of the machine was set back', async () => {
    const now = vi.spyOn(cell.folder.clock, 'now').mockReturnValue(new Date('2031-03-05T11:59:59Z'));
    try {
      expect(await refusalOf(cell.release('L-6', units('L-6')))).toMatch(
        /the clock of this machine \(2031-03-05T11:59:59\.000Z\) stands before an entry of the audit trail \(2031-03-05T12:00:00\.000Z\): one of the two times is wrong/,
      );
      // Nor behind an entry that was made meanwhile.
      await cell.services.assessor.assess('L-6', 'local:tester');
      await cell.services.store.change('local:tester', (change) => change.events.add(programHold(), 'pores'));
      expect(await refusalOf(cell.release('L-6', units('L-6')))).toMatch(/stands before an entry/);
      // Nor is an act that is no signature on a thing; but what keeps back is never refused for a clock.
      const { stateActs, accountActs } = cell.services;
      const pores = [await cell.prove('P-QE'), 'L-6', units('L-6'), 'pores'] as const;
      await stateActs.placeHold(...pores);
      expect((await standing('L-6')).units[0]!.hold).toMatchObject({ reason: 'pores', at: '2031-03-05T11:59:59.000Z' });
      const lifted = stateActs.liftHold(await cell.prove('P-QE'), 'L-6', units('L-6'), 'looked at');
      expect(await refusalOf(lifted)).toMatch(/stands before an entry/);
      await stateActs.placeLegalHold(await cell.prove('P-QE'), 'L-6', 'a question of the court');
      const role = accountActs.giveRole(await cell.prove('P-AD'), 'P-OP', 'analyst');
      expect(await refusalOf(role)).toMatch(/stands before an entry/);
    } finally {
      now.mockRestore();
    }
  });

  it('makes no sense for a meaning that the thing does not have, or for nothing at all', async () => {
    expect(await refusalOf(cell.sign('P-QE', 'lot file:L-6', { meaning: 'approved' }))).toContain('table of authority');
    expect(await refusalOf(cell.sign('P-QE', [], { meaning: 'approved' }))).toContain('at least one thing');
    expect(await refusalOf(cell.sign('P-QE', 'lot file:GHOST', { meaning: 'reviewed' }))).toContain('GHOST');
  });
});

it('keeps every refusal of this cell in the audit trail, with who, what and why', async () => {
  const events = await cell.services.store.read.events.ofTypes(['act-refused']);
  expect(events.length).toBeGreaterThan(10);
  for (const { event, actor } of events) {
    if (event.type !== 'act-refused') continue;
    expect(actor).toBe(`person:${event.person}`);
    expect(event.why.length).toBeGreaterThan(10);
  }
});
