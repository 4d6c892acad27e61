import { assess } from '../../src/assessment/assess.js';
import { countedTwice, implantFates } from '../../src/assessment/counts.js';
import type { Facts } from '../../src/dossier/facts.js';
import { findingWords } from '../../src/report/assessment-words.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { assessBothWays } from '../support/note-files.js';
import { decidedByBoth, signedFacts } from '../support/signed-facts.js';

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf();
});

const LATER = '2031-03-04T15:00:00+01:00';

const spoilt = (change: (copy: Editable) => void) => signedFacts(edited(facts, change));
const checkOf = (code: string, of: Facts) => assessBothWays(of).checks.find((check) => check.code === code)!;
const saysOf = (code: string, of: Facts) => {
  const found = checkOf(code, of);
  return { outcome: found.outcome, says: found.findings.map((finding) => findingWords(code, finding).says) };
};

/** Values of the first coupon: two strengths of one tensile test. */
const ofFirst = ({ results }: Editable): Editable[] => results.filter((row: Editable) => row.specimen === 'L-1-W1');

describe('a piece is destroyed once', () => {
  it('counts what one method gave at one moment as one test', () => {
    expect(
      saysOf(
        'destroyed-once',
        spoilt(() => {}),
      ),
    ).toEqual({ outcome: 'passes', says: [] });
  });

  it('cannot be decided where a coupon was destroyed again, until two people decided on it', () => {
    const twice = spoilt((copy) => {
      ofFirst(copy)[1].measuredAt = LATER;
    });
    const { outcome, says } = saysOf('destroyed-once', twice);
    expect(outcome).toBe('cannot be decided');
    expect(says).toEqual([
      'L-1-W1 was tested by TM-T at 2031-03-04 14:00 UTC, which destroys it again: TM-T, which destroys what it measures, was done on it at 2031-03-04 08:00 UTC.',
    ]);
    const [finding] = checkOf('destroyed-once', twice).findings;
    expect(finding!.units).toEqual(['L-1-I1']);
    const decided = { ...twice, signatures: [...twice.signatures, ...decidedByBoth(finding!.id)] };
    expect(checkOf('destroyed-once', decided).outcome).toBe('passes');
  });

  it('passes where the pieces into which it was cut are named', () => {
    const cut = spoilt((copy) => {
      ofFirst(copy).forEach((row, index) => {
        Object.assign(row, {
          piece: `T${index + 1}`,
          replicate: '1',
          measuredAt: index === 0 ? row.measuredAt : LATER,
        });
      });
    });
    expect(saysOf('destroyed-once', cut)).toEqual({ outcome: 'passes', says: [] });
  });

  it('asks of what was measured on it later without destroying it, and not of what was before', () => {
    const sized = (measuredAt: string) =>
      spoilt((copy) => {
        const size = copy.results.find((row: Editable) => row.characteristic === 'thickness');
        copy.results.push({ ...size, specimen: 'L-1-W1', measuredAt, line: '9' });
      });
    expect(saysOf('destroyed-once', sized(LATER)).says).toEqual([
      'L-1-W1 was measured by TM-S at 2031-03-04 14:00 UTC after it had been destroyed: TM-T, which destroys what it measures, was done on it at 2031-03-04 08:00 UTC.',
    ]);
    expect(saysOf('destroyed-once', sized('2031-03-03T15:00:00+01:00')).says).toEqual([]);
  });

  it('does not apply where no method destroys', () => {
    const whole = spoilt(({ methods }) => {
      methods.get('TM-T rev 1').body.destructive = 'non-destructive';
    });
    expect(saysOf('destroyed-once', whole).outcome).toBe('does not apply');
  });
});

describe('an implant that a test used up', () => {
  const usedUp = (fate?: string) =>
    spoilt(({ methods, lot }) => {
      methods.get('TM-S rev 1').body.destructive = 'destructive';
      const gone = (part: string, as: string) => ({ part, as, at: LATER, by: 'P-AN' });
      lot.body.fates = [gone('L-1-I2', 'tested'), ...(fate === undefined ? [] : [gone('L-1-I1', fate)])];
    });

  it.each([undefined, 'retained', 'scrapped'])('is to be counted as tested, and not as %s', (fate) => {
    expect(saysOf('counts-balance', usedUp(fate))).toEqual({
      outcome: 'fails',
      says: [
        'Implant L-1-I1 was measured by TM-S, which destroys what it measures, and lot.yaml does not count it as tested.',
      ],
    });
    expect(assess(usedUp(fate), 'test').releasable).toEqual([]);
  });

  it('is not there to be released', () => {
    expect(saysOf('counts-balance', usedUp('tested')).outcome).toBe('passes');
    expect(assess(usedUp('tested'), 'test').releasable).toEqual([]);
  });

  it('is named where people released it all the same', () => {
    const { lot } = usedUp('tested');
    const line = implantFates(lot.body, {
      released: { sterilisation: [], distribution: ['L-1-I1'] },
      rejected: [],
    });
    expect(line).toMatchObject({ total: 2, sum: 3 });
    expect(countedTwice(line)).toEqual([
      { serial: 'L-1-I1', fates: ['released for distribution', 'destructively tested'] },
    ]);
  });
});

describe('a coupon that failed', () => {
  const weak = (copy: Editable) => {
    ofFirst(copy)[0].value = '214.9';
  };

  it('asks for a cause where no excursion touched it, and keeps its verdict once that is signed', () => {
    const failed = spoilt(weak);
    expect(saysOf('failures-explained', failed)).toEqual({
      outcome: 'cannot be decided',
      says: [
        'Coupon L-1-W1, which stands for L-1-I1, failed in rm (214.9), and no excursion touched it: nobody has said why.',
      ],
    });
    const [finding] = checkOf('failures-explained', failed).findings;
    const signatures = (by: number) => [...failed.signatures, ...decidedByBoth(finding!.id).slice(0, by)];
    expect(checkOf('failures-explained', { ...failed, signatures: signatures(1) }).outcome).toBe('cannot be decided');
    const now = assessBothWays({ ...failed, signatures: signatures(2) });
    expect(now.checks.find(({ code }) => code === 'failures-explained')!.outcome).toBe('passes');
    expect(now.units.map(({ verdict }) => verdict)).toEqual(['does not conform', 'conforms']);
  });

  it('is explained to whoever decides on the excursion that touched it', () => {
    const excursion = {
      id: 'c'.repeat(64),
      build: 'M1-101',
      rule: 'excursion',
      level: 'action',
      channel: 'oxygen',
      ucum: '[ppm]',
      startedAt: '2031-03-03T07:00:05.000Z',
      endedAt: '2031-03-03T07:00:09.000Z',
      places: [{ zone: 'W1-span', layerFrom: 1, layerTo: 1 }],
      steps: ['deposit'],
      facts: { direction: 'high', worst: 60, limit: 50, durationMs: 4000 },
    };
    const touched = spoilt((copy) => {
      weak(copy);
      copy.logParts.get('M1-101').findings.push(excursion);
    });
    expect(checkOf('failures-explained', touched)).toMatchObject({
      outcome: 'passes',
      basis: { coupons: '1', logFindings: '1' },
    });
  });

  it('is not asked of one that did not fail, nor of a lot without coupons', () => {
    expect(
      saysOf(
        'failures-explained',
        spoilt(() => {}),
      ).outcome,
    ).toBe('passes');
    const none = spoilt(({ lot }) => lot.body.coupons.splice(0));
    expect(saysOf('failures-explained', none).outcome).toBe('does not apply');
  });
});
