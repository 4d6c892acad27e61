import type { Facts } from '../../src/dossier/facts.js';
import { revisionSubject } from '../../src/dossier/signable.js';
import { findingWords } from '../../src/report/assessment-words.js';
import { stockRows } from '../../src/report/stock-rows.js';
import { addStock } from '../support/documents/stock.js';
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

describe('of a part that is built on what was an implant', () => {
  let onStock: Facts;
  beforeAll(async () => {
    onStock = await factsOf((cell) => addStock(cell), '2031-12-01T12:00:00Z');
  });

  /** The first implant is built on one of another lot, and that on one of a third: of the latter a certificate was corrected. */
  const repaired = (issued: string) => (copy: Editable) => {
    const stock = copy.stockParts.get('B-1').body;
    delete stock.receipt;
    Object.assign(stock, { implant: 'L-0-I9', why: 'a boss was milled away (invented)' });
    const former = { lot: 'L-0', builds: ['M1-77'], receipts: ['R-0'], heats: ['S:H0'], events: [] };
    const fate = { as: 'stock part', at: '2031-02-01T08:00:00+01:00', by: 'P-QE' };
    const corrected = { receipt: 'R-0', certificate: 'C-0a', issued, replaces: 'C-0' };
    copy.stock.origins.push(
      {
        ...{ ...former, stockPart: 'B-1', implant: 'L-0-I9', fate },
        builtOn: { stockPart: 'B-0', material: 'mg-powder' },
      },
      {
        ...{ ...former, stockPart: 'B-0', implant: 'L-00-I1', fate },
        corrected: [{ ...corrected, build: 'M1-70', closedAt: '2030-11-05T12:00:00+01:00' }],
      },
    );
  };
  const judgedAs = (as: string) => {
    const body = {
      ...{ kind: 'impact', format: 1, impact: 'IM-1', cause: { kind: 'receipt', key: 'R-0' } },
      ...{ from: '2030-11-05T10:00:00+01:00', to: '2031-04-01T10:00:00+01:00' },
      ...{ head: { entries: 10, root: 'a'.repeat(64) }, results: { count: 0, sha256: 'b'.repeat(64) } },
      ...{ lots: ['L-1'], decisions: [{ implant: 'L-1-I1', as }], conclusion: 'invented', reason: 'invented' },
    };
    const copy = edited(onStock, (all) => {
      repaired('2031-03-20')(all);
      all.dossier.pinned.push({ ...IMPACT, body });
    });
    const sign = (by: string) => statement('decided', revisionSubject(IMPACT), by, { outcome: 'accepted' });
    return assessedOf(signedFacts(copy, sign('P-PE'), sign('P-QE')));
  };

  it('asks what a certificate says that was corrected after that was built, of the part on it and of no other', () => {
    const lot = signedFacts(edited(onStock, repaired('2030-11-06')));
    const { outcome, findings, held, units } = assessedOf(lot);
    expect([outcome, held]).toEqual(['fails', ['L-1-I1']]);
    expect(units.map(({ releasable }) => releasable)).toEqual([false, expect.anything()]);
    const { says, clearedBy } = findingWords('corrections-judged', findings[0]!);
    expect(says).toMatch(/C-0 of R-0 was replaced by C-0a on 2030-11-06.* L-00-I1 was made\. L-1-I1 is built on that/);
    expect(clearedBy).toMatch(/impact of R-0/);
    const [row] = stockRows(lot);
    expect(row!.story).toContain('certificate C-0 of R-0 replaced by C-0a, 2030-11-06');
  });

  it('asks nothing where it was corrected by the day of that closure', () => {
    expect(assessedOf(signedFacts(edited(onStock, repaired('2030-11-05')))).outcome).toBe('does not apply');
  });

  it('lets it go by an impact that says so of it, decided by both', () => {
    expect(judgedAs('no effect')).toMatchObject({ outcome: 'passes', held: [] });
    expect(judgedAs('hold').held).toEqual(['L-1-I1']);
  });
});
