import { earliestRelease, notBefore } from '../../src/assessment/earliest-release.js';
import { earliestText, peopleText } from '../../src/report/phrases/outlook.js';
import { KeptSignatures } from '../../src/signing/kept-signatures.js';
import { LotOutlooks } from '../../src/signing/lot-outlook.js';
import { addLot, logText } from '../support/cell.js';
import { SigningCell } from '../support/signing-cell.js';

describe('the earliest release', () => {
  const item = (characteristic: string, due = 'before-release') =>
    ({ characteristic, title: `Value ${characteristic}`, due }) as never;
  const HOURS: Record<string, string> = { short: '2', long: '336', later: '5000' };
  const asked = (missing: string[], now = '2031-03-05T12:00:00Z') =>
    notBefore(
      earliestRelease({
        lot: { builds: [{ openedAt: '2031-03-03T09:00:00+01:00' }] } as never,
        specification: { characteristics: [item('none'), item('short'), item('long'), item('later', 'after-release')] },
        methodOf: ({ characteristic }) => ({ duration: { hours: HOURS[characteristic] } }) as never,
        missing: new Set(missing),
      }),
      new Date(now),
    );

  it('waits for the longest test that is missing, from the moment the last closure was opened', () => {
    const found = asked(['short', 'long']);
    expect(found).toEqual({
      at: '2031-03-17T08:00:00.000Z',
      longest: { characteristic: 'long', title: 'Value long', hours: '336' },
    });
    expect(earliestText(found, '2031-03-16')).toBe(
      'can be released at the earliest 2031-03-17 08:00 UTC: Value long takes 14 days; it is needed by 2031-03-16',
    );
  });

  it('is never in the past, and asks nothing of tests that are there or due after release', () => {
    expect(asked(['short', 'later'])).toMatchObject({ at: '2031-03-05T12:00:00.000Z', longest: { hours: '2' } });
    expect(asked(['later'])).toMatchObject({ at: '2031-03-05T12:00:00.000Z', longest: null });
  });

  it('is never later because a value came in', () => {
    for (const gone of ['short', 'long']) {
      const less = asked(['short', 'long'].filter((one) => one !== gone));
      expect(Date.parse(less.at)).toBeLessThanOrEqual(Date.parse(asked(['short', 'long']).at));
    }
  });
});

describe('people who are left', () => {
  let cell: SigningCell;
  beforeAll(async () => {
    cell = await SigningCell.open((what) => {
      addLot(what, 'L-2', 102, '2031-03-03', { rm: 230, thickness: 1.5 });
      what.files['lots/L-2/logs/run.csv'] = logText('2031-03-03', () => 8.5);
      // Whoever alone may review it builds it.
      what.documents['lots/L-2/lot.yaml']!.builds[0].operator = 'P-QE';
    });
  });
  afterAll(() => cell.close());

  const outlooks = async () => {
    const { store, accounts } = cell.services;
    return new LotOutlooks(store, accounts, new KeptSignatures(store)).of(['L-1', 'L-2']);
  };

  it('are told as soon as the lot is there, with who could still do what', async () => {
    const found = await outlooks();
    expect(found.get('L-1')!.people).toEqual({ reviewers: ['P-QE'], releasers: ['P-RE'], areEnough: true });
    expect(peopleText(found.get('L-1')!.people)).toEqual([]);
    expect(found.get('L-2')!.people).toEqual({ reviewers: [], releasers: ['P-RE'], areEnough: false });
    expect(peopleText(found.get('L-2')!.people)[0]).toMatch(/^no two people are left .* review nobody, release P-RE;/);
  });

  it('are asked for no more once the lot was reviewed', async () => {
    await cell.services.assessor.assess('L-1', 'local:tester');
    await cell.review('L-1');
    expect((await outlooks()).get('L-1')!.people).toBeNull();
  });
});
