import { addLot, writeCell } from '../support/cell.js';
import { PASSWORD, provedActs } from '../support/people.js';
import { addLotWithPeaks, refusalOf, SigningCell } from '../support/signing-cell.js';

const UNITS = ['L-1-I1', 'L-1-I2'];
const trained = (cell: SigningCell['cell'], code: string, name: string, operation: string, dates: object) => {
  cell.documents[`site/people/${code}.yaml`] = {
    kind: 'person',
    format: 1,
    person: code,
    name,
    function: 'invented',
    qualifications: [{ operation, ...dates }],
  };
};

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    // A lot whose maker, tester and decider hold the role of releaser as well, see below.
    addLot(what, 'L-2', 102, '2031-02-11', { rm: 230, thickness: 1.5 });
    addLotWithPeaks(what, 'L-3', 103, { 2: 60 });
    addLot(what, 'L-4', 104, '2031-02-14', { rm: 230, thickness: 1.5 });
    what.documents['site/people/operator.yaml']!.qualifications.push({ operation: 'lot release', from: '2031-01-02' });
    what.documents['site/people/analyst.yaml']!.qualifications.push(
      { operation: 'lot release', from: '2031-01-02' },
      { operation: 'lot review', from: '2031-01-02' },
    );
    what.documents['site/people/process.yaml']!.qualifications.push({ operation: 'lot release', from: '2031-01-02' });
    what.documents['site/people/quality.yaml']!.qualifications.push({ operation: 'lot release', from: '2031-01-02' });
    trained(what, 'P-Y', 'Yorick Example', 'lot release', { from: '2031-01-02', to: '2031-03-04' });
    trained(what, 'P-T', 'Toni Example', 'lot release', { from: '2031-01-02', to: '2031-03-05' });
    trained(what, 'P-N', 'Nadia Example', 'lot release', { from: '2031-03-06' });
    trained(what, 'P-DE', 'Dana Example', 'lot release', { from: '2031-01-02' });
  });
  const { accounts, accountActs, accountLinks } = cell.services;
  for (const [person, name] of [
    ['P-Y', 'Yorick Example'],
    ['P-T', 'Toni Example'],
    ['P-N', 'Nadia Example'],
    ['P-C', 'Clara Example'],
    ['P-DE', 'Dana Example'],
  ] as const) {
    const { token } = await accountActs.make(await accounts.prove('P-AD', PASSWORD), {
      person,
      name,
      identityCheckedOn: accounts.today(),
    });
    await accountLinks.setPassword(token, PASSWORD);
    if (person !== 'P-DE') await provedActs(cell.services).giveRole('P-AD', person, 'releaser');
  }
  await cell.review('L-1');
});
afterAll(() => cell.close());

const give = (person: string, role: 'releaser' | 'quality engineer') =>
  provedActs(cell.services).giveRole('P-AD', person, role, 'for this test');
const take = (person: string, role: 'releaser' | 'quality engineer') =>
  provedActs(cell.services).takeRole('P-AD', person, role, 'the test is over');

describe('qualification on the day', () => {
  it.each([
    ['ended yesterday', 'P-Y'],
    ['begins tomorrow', 'P-N'],
    ['is in no file', 'P-C'],
  ])('that %s lets nobody release', async (_, person) => {
    expect(await refusalOf(cell.release('L-1', UNITS, person))).toContain(
      `${person} has no signed qualification for "lot release" that covers this day`,
    );
  });

  it('is a claim until somebody else has signed it', async () => {
    trained(cell.cell, 'P-C', 'Clara Example', 'lot release', { from: '2031-01-02' });
    writeCell(cell.cell, cell.root);
    await cell.services.intake.run(cell.root, 'local:tester');
    expect(await refusalOf(cell.release('L-1', UNITS, 'P-C'))).toContain('no signed qualification');
    const thing = 'qualification:P-C:lot release';
    expect(await refusalOf(cell.sign('P-C', thing, { meaning: 'approved' }))).toContain(
      'is not the person concerned, and P-C did',
    );
    expect(await refusalOf(cell.sign('P-AD', thing, { meaning: 'approved' }))).toContain('needs the role');
    await cell.sign('P-QE', thing, { meaning: 'approved' });
    const waiting = await cell.services.waiting.all();
    expect(waiting.find(({ lot, meaning }) => lot === 'L-1' && meaning === 'released')!.who).toContain('P-C');
  });

  it('covers its last day', async () => {
    const signed = await cell.release('L-1', ['L-1-I1'], 'P-T');
    expect(signed.statement.person).toMatchObject({ code: 'P-T', role: 'releaser' });
  });
});

describe('independence', () => {
  it('keeps the maker, the tester and the reviewer from releasing', async () => {
    await give('P-OP', 'releaser');
    expect(await refusalOf(cell.release('L-1', ['L-1-I2'], 'P-OP'))).toContain(
      'performed no build step of this lot, and P-OP did',
    );
    await take('P-OP', 'releaser');
    await give('P-AN', 'releaser');
    expect(await refusalOf(cell.release('L-1', ['L-1-I2'], 'P-AN'))).toContain(
      'performed no test of this lot, and P-AN did',
    );
    await take('P-AN', 'releaser');
    await give('P-QE', 'releaser');
    expect(await refusalOf(cell.release('L-1', ['L-1-I2'], 'P-QE'))).toContain(
      'did not review this lot file, and P-QE did',
    );
    await take('P-QE', 'releaser');
  });

  it('keeps the tester from reviewing', async () => {
    await give('P-AN', 'quality engineer');
    expect(await refusalOf(cell.review('L-2', 'P-AN'))).toContain('performed no test of this lot, and P-AN did');
    await take('P-AN', 'quality engineer');
  });

  it('keeps whoever decided a finding from releasing, although two had to decide and one remains who may', async () => {
    const findings = await cell.logFindings('L-3', 'action');
    expect(findings).toHaveLength(1);
    await cell.services.assessor.assess('L-3', 'local:tester');
    await cell.decide('P-PE', findings);
    await cell.decide('P-QE', findings);
    await cell.review('L-3');
    await give('P-PE', 'releaser');
    expect(await refusalOf(cell.release('L-3', ['L-3-I1'], 'P-PE'))).toContain(
      'decided no finding of this lot, and P-PE did',
    );
    await take('P-PE', 'releaser');
    await cell.release('L-3', ['L-3-I1', 'L-3-I2']);
  });
});

describe('roles', () => {
  it.each([
    ['an administrator', 'P-AD', 'needs the role'],
    ['an auditor', 'P-AU', 'an auditor reads everything and changes nothing'],
  ])('of %s sign nothing', async (_, person, why) => {
    for (const act of [
      () => cell.review('L-2', person),
      () => cell.release('L-1', ['L-1-I2'], person),
      () => cell.reject('L-1', ['L-1-I2'], 'no reason', person),
      () => cell.sign(person, 'recipe:RC@2', { meaning: 'approved' }),
      () => cell.sign(person, 'result-set:L-2:results/size.csv', { meaning: 'checked' }),
    ]) {
      expect(await refusalOf(act())).toContain(why);
    }
    const { stateActs } = cell.services;
    expect(await refusalOf(stateActs.placeHold(await cell.prove(person), 'L-1', ['L-1-I2'], 'because'))).toContain(why);
  });

  it('that are taken leave what was signed, and let nothing more be signed', async () => {
    await cell.review('L-2');
    const released = await cell.release('L-2', ['L-2-I1'], 'P-T');
    await take('P-T', 'releaser');
    expect(await refusalOf(cell.release('L-2', ['L-2-I2'], 'P-T'))).toContain('needs the role releaser');
    const { facts } = await cell.services.assessor.assess('L-2', 'local:tester');
    const { units } = await cell.services.standings.of('L-2', facts);
    expect(units[0]).toMatchObject({ decision: 'released', statement: released.statement, underAssessment: [] });
    await provedActs(cell.services).close('P-AD', 'P-T', 'left the company');
    expect(await refusalOf(cell.prove('P-T'))).toContain('identifier or password is wrong');
    expect((await cell.services.standings.of('L-2', facts)).units[0]!.decision).toBe('released');
  });

  it('that were taken between the password and the signature do not count', async () => {
    const proof = await cell.prove('P-C');
    await take('P-C', 'releaser');
    const things = [{ kind: 'lot file', key: 'L-2', revision: null, digest: null }];
    const act = cell.services.signing.sign(proof, {
      things,
      meaning: 'released',
      step: 'distribution',
      units: ['L-2-I2'],
    });
    expect(await refusalOf(act)).toContain('needs the role releaser');
  });
});

describe('approvals', () => {
  it('of a document come from another person than its author', async () => {
    const { services } = cell;
    const recipe = { ...cell.cell.documents['site/recipe.yaml'], revision: 3 };
    cell.cell.documents['site/recipe-3.yaml'] = recipe;
    writeCell(cell.cell, cell.root);
    await services.intake.run(cell.root, 'local:tester');
    expect(await refusalOf(cell.sign('P-QE', 'recipe:RC@3', { meaning: 'approved' }))).toContain(
      'its author has not signed it as performed yet',
    );
    await cell.sign('P-QE', 'recipe:RC@3', { meaning: 'performed' });
    expect(await refusalOf(cell.sign('P-QE', 'recipe:RC@3', { meaning: 'approved' }))).toContain(
      'did not sign the document as its author, and P-QE did',
    );
    const recipes = (await services.waiting.all()).filter(({ thing }) => thing.startsWith('recipe:RC@3'));
    expect(recipes).toEqual([expect.objectContaining({ meaning: 'approved', who: [] })]);
  });

  it('of typed values come from somebody who typed none, of results from whoever measured', async () => {
    const sheet = cell.cell.sheets['lots/L-4/results/size.csv']!;
    sheet[0] = { ...sheet[0]!, value: '1.502', reason: 'a digit was wrong' };
    writeCell(cell.cell, cell.root);
    await cell.services.intake.run(cell.root, 'local:tester');
    const thing = 'result-set:L-4:results/size.csv';
    expect(await refusalOf(cell.sign('P-AN', thing, { meaning: 'checked' }))).toContain(
      'typed none of the values, and P-AN did',
    );
    expect(await refusalOf(cell.sign('P-OP', thing, { meaning: 'performed' }))).toContain(
      'P-OP is not named as analyst of any value in it; whoever measured signs',
    );
    await cell.sign('P-AN', thing, { meaning: 'performed' });
    await cell.sign('P-OP', thing, { meaning: 'checked' });
  });

  it('of a certificate come from somebody who did not transcribe it', async () => {
    expect(await refusalOf(cell.sign('P-OP', 'certificate:R-1', { meaning: 'checked' }))).toContain(
      'did not transcribe the certificate, and P-OP did',
    );
  });
});

// Last, since it moves the clock.
describe('a deputy', () => {
  const deputy = { person: 'P-DE', deputyFor: 'P-RE', role: 'releaser' as const, from: '2031-03-10', to: '2031-03-12' };
  const at = (day: string) => cell.folder.advanceTo(`${day}T12:00:00Z`);

  it('releases from the first to the last day named, in the name of both, and on no other day', async () => {
    await provedActs(cell.services).nameDeputy('P-AD', deputy, 'holiday');
    const outside = '"release units for distribution" needs the role releaser';
    at('2031-03-09');
    expect(await refusalOf(cell.release('L-1', ['L-1-I2'], 'P-DE'))).toContain(outside);
    at('2031-03-10');
    // A value of a sister lot was corrected meanwhile: what this lot knows of the family stays as it was reviewed.
    const signed = await cell.release('L-1', ['L-1-I2'], 'P-DE');
    expect(signed.statement.person).toMatchObject({
      code: 'P-DE',
      name: 'Dana Example',
      role: 'releaser',
      deputyFor: 'P-RE',
    });
    at('2031-03-13');
    expect(await refusalOf(cell.release('L-2', ['L-2-I2'], 'P-DE'))).toContain(outside);
  });

  it('stands for a role that the other person still has', async () => {
    await provedActs(cell.services).nameDeputy('P-AD', { ...deputy, from: '2031-03-14', to: '2031-03-20' }, 'again');
    at('2031-03-14');
    await take('P-RE', 'releaser');
    expect(await refusalOf(cell.release('L-2', ['L-2-I2'], 'P-DE'))).toContain('needs the role releaser');
  });
});
