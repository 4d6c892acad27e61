import fs from 'node:fs';
import path from 'node:path';
import { canonicalJson } from '../../src/dossier/canonical.js';
import type { AssessedLot } from '../../src/lots/lot-assessor.js';
import type { RecordIssue } from '../../src/records/enclosure.js';
import { assessmentInWords } from '../../src/report/assessment-words.js';
import { CHECK_PHRASES } from '../../src/report/phrases/checks/catalogue.js';
import { CLAIM_PHRASES } from '../../src/report/phrases/claims.js';
import type { CheckPhrases } from '../../src/report/phrases/phrase.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { SmallInstallation } from '../support/sealed-record.js';
import { openServices } from '../support/services.js';

const MARK = ' (worded anew)';

let lot: AssessedLot;
let records: Record<'ofThisBuild' | 'ofAnother', string>;

/** Nobody signed anything of this lot: many checks have findings. */
beforeAll(async () => {
  const services = await openServices(path.join(temporaryFolder('data'), 'data'));
  await services.intake.run(writeCell(makeCell()), 'local:tester');
  lot = await services.assessor.assess('L-1', 'local:tester');
  await services.store.close();
  const installation = new SmallInstallation();
  const write = async (change: Partial<RecordIssue>) => {
    const { bytes } = await installation.render(lot, { ...installation.issueOf(lot, 1, []), ...change });
    const file = path.join(temporaryFolder('worded'), 'record.pdf');
    fs.writeFileSync(file, bytes);
    return file;
  };
  // Whoever changes a phrase has another build; only the build that rendered a record draws its pages again.
  records = { ofThisBuild: await write({}), ofAnother: await write({ program: 'Lotwright of another day' }) };
  wordAnew();
});

/** Changes every phrase there is. */
function wordAnew(): void {
  const phrases = CHECK_PHRASES as Record<string, CheckPhrases>;
  for (const [code, { title, asks, basis, doesNotApply, rules, otherRule }] of Object.entries(phrases)) {
    const marked = ({ says, clearedBy }: { says: string; clearedBy: string }) => ({
      says: says + MARK,
      clearedBy: clearedBy + MARK,
    });
    phrases[code] = {
      title: title + MARK,
      asks: asks + MARK,
      basis: (facts) => basis(facts) + MARK,
      ...(doesNotApply === undefined ? {} : { doesNotApply: doesNotApply + MARK }),
      rules: Object.fromEntries(
        Object.entries(rules).map(([rule, phrase]) => [rule, (facts) => marked(phrase(facts))]),
      ),
      ...(otherRule === undefined ? {} : { otherRule: (facts, rule) => marked(otherRule(facts, rule)) }),
    };
  }
  const claims = CLAIM_PHRASES as Record<string, (facts: Readonly<Record<string, string>>) => string>;
  for (const [what, phrase] of Object.entries(claims)) claims[what] = (facts) => phrase(facts) + MARK;
}

it('every phrase on a check, a finding and a claim is another one now', () => {
  const { checks, units } = assessmentInWords(lot.assessment);
  const said = [
    ...checks.flatMap(({ title, basisSays }) => [title, basisSays].filter(Boolean)),
    ...checks.flatMap(({ findings }) => findings.flatMap(({ says, clearedBy }) => [says, clearedBy])),
    ...checks.flatMap(({ claims }) => claims.map(({ says }) => says)),
    ...units.flatMap(({ why }) => why.map(({ says }) => says)),
  ];
  expect(checks.flatMap(({ findings }) => findings).length).toBeGreaterThan(5);
  expect(said.filter((text) => !text.endsWith(MARK))).toEqual([]);
  // Neither codes nor facts: the assessment holds none of it.
  expect(canonicalJson(lot.assessment)).not.toContain(MARK);
});

it('a record with other words verifies: its verdicts are codes and facts', async () => {
  const { verdict, steps } = await verifyRecord(records.ofAnother);
  expect(steps.filter(({ outcome }) => outcome === 'does not hold' || outcome === 'differs')).toEqual([]);
  expect(verdict).toBe('unaltered');
  expect(steps.find(({ step }) => step === 'assessment')).toMatchObject({ outcome: 'holds' });
});

it('the words stand on its pages, which the build that drew them would draw otherwise now', async () => {
  const { steps } = await verifyRecord(records.ofThisBuild);
  expect(steps.filter(({ outcome }) => outcome === 'does not hold').map(({ step }) => step)).toEqual(['pages']);
});
