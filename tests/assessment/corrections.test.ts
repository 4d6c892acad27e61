import type { Facts } from '../../src/dossier/facts.js';
import { revisionSubject } from '../../src/dossier/signable.js';
import { findingWords } from '../../src/report/assessment-words.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { assessBothWays } from '../support/note-files.js';
import { signedFacts, statement } from '../support/signed-facts.js';

/** ISO 13485:2016 8.3.3. The chamber of the cell closed on 3 March 2031; its powder came with certificate C-1. */
let facts: Facts;
beforeAll(async () => {
  facts = await factsOf();
});

const corrected = (issued: string) => (copy: Editable) => {
  const receipt = copy.receipts.get('R-1').body;
  Object.assign(receipt.certificate, { number: 'C-1a', issued });
  receipt.corrects = { certificate: 'C-1', why: 'zinc was transposed (invented)' };
};

const IMPACT = { kind: 'impact', key: 'IM-1', revision: 1, digest: 'd'.repeat(64), recordedAt: '2031-04-02T08:00:00Z' };

/** The lot with a decided impact that says this of these implants. */
function judged(decisions: readonly object[], cause = 'R-1', signers = ['P-PE', 'P-QE']) {
  const body = {
    ...{ kind: 'impact', format: 1, impact: 'IM-1', cause: { kind: 'receipt', key: cause } },
    ...{ from: '2031-01-12T10:00:00+01:00', to: '2031-04-01T10:00:00+01:00' },
    ...{ head: { entries: 10, root: 'a'.repeat(64) }, results: { count: 0, sha256: 'b'.repeat(64) } },
    ...{ lots: ['L-1'], decisions, conclusion: 'within the limits all the same (invented)', reason: 'invented' },
  };
  const copy = edited(facts, (all) => {
    corrected('2031-03-20')(all);
    all.dossier.pinned.push({ ...IMPACT, body });
  });
  return assessedOf(
    signedFacts(
      copy,
      ...signers.map((by) => statement('decided', revisionSubject(IMPACT), by, { outcome: 'accepted' })),
    ),
  );
}

function assessedOf(lot: Facts) {
  const { checks, units } = assessBothWays(lot);
  const { outcome, findings } = checks.find(({ code }) => code === 'corrections-judged')!;
  return { outcome, findings, held: findings.flatMap((finding) => finding.units), units };
}

const noEffectOn = (...serials: string[]) => serials.map((implant) => ({ implant, as: 'no effect' }));

it('does not apply to a certificate that was never corrected, or was before the chamber closed', () => {
  for (const change of [() => {}, corrected('2031-03-03')]) {
    expect(assessedOf(signedFacts(edited(facts, change))).outcome).toBe('does not apply');
  }
});

it('holds back every implant that rests on a certificate corrected later, and turns no verdict', () => {
  const { outcome, findings, held, units } = assessedOf(signedFacts(edited(facts, corrected('2031-03-04'))));
  expect([outcome, held]).toEqual(['fails', ['L-1-I1', 'L-1-I2']]);
  expect(units.map(({ releasable }) => releasable)).toEqual([false, false]);
  expect(findingWords('corrections-judged', findings[0]!).says).toMatch(
    /C-1 of R-1 was replaced by C-1a on 2031-03-04/,
  );
});

it('lets go exactly the implants on which an impact of that receipt, decided by both, has no effect', () => {
  expect(judged(noEffectOn('L-1-I1', 'L-1-I2'))).toMatchObject({ outcome: 'passes', held: [] });
  expect(judged(noEffectOn('L-1-I1')).held).toEqual(['L-1-I2']);
  expect(judged([{ implant: 'L-1-I1', as: 'hold' }, ...noEffectOn('L-1-I2')]).held).toEqual(['L-1-I1']);
  expect(judged(noEffectOn('L-1-I1', 'L-1-I2'), 'R-2').held).toEqual(['L-1-I1', 'L-1-I2']);
  expect(judged(noEffectOn('L-1-I1', 'L-1-I2'), 'R-1', ['P-QE']).held).toEqual(['L-1-I1', 'L-1-I2']);
});
