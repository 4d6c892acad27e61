import fs from 'node:fs';
import path from 'node:path';
import { canonicalJson } from '../../src/dossier/canonical.js';
import type { AssessedLot } from '../../src/lots/lot-assessor.js';
import type { RecordIssue } from '../../src/records/enclosure.js';
import { assessmentInWords } from '../../src/report/assessment-words.js';
import { detailText, findingText } from '../../src/report/phrases/log-finding.js';
import { MOMENT_QUESTIONS } from '../../src/report/phrases/moments.js';
import { reportInWords } from '../../src/verify/report.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { makeCell, temporaryFolder } from '../support/cell.js';
import { servicesWith } from '../support/record-content.js';
import { runCommand } from '../support/run-command.js';
import { SmallInstallation } from '../support/sealed-record.js';
import { wordAnew } from '../support/word-anew.js';
import { MARK } from '../support/word-mark.js';

const GAP = { rule: 'gap', level: 'action', channel: null, ucum: null, facts: { durationMs: 2000 } } as const;

const LOG = 'lots/L-1/logs/run.csv';

/** With a gap, a number that is none, and a step and a zone that the lot does not know: findings with something to tell. */
function oddLog(text: string): string {
  const lines = text.split('\n');
  lines[29] = lines[29]!.replace(/,8(?=,|$)/, ',ERR');
  lines[33] = lines[33]!.replace(/,(deposit|peen),/, ',polish,');
  lines[34] = lines[34]!.replace(/,[IW]\d-span,/, ',Z9,');
  return lines.filter((_, line) => line < 40 || line > 50).join('\n');
}

let lot: AssessedLot;
let evidence: string;
let records: Record<'ofThisBuild' | 'ofAnother', string>;
let wording: Awaited<ReturnType<typeof wordAnew>>;

/** Nobody signed anything of this lot: many checks have findings. */
beforeAll(async () => {
  const cell = makeCell();
  cell.files[LOG] = oddLog(cell.files[LOG]!);
  const services = await servicesWith(cell);
  lot = await services.assessor.assess('L-1', 'local:tester');
  evidence = services.store.folder.evidence;
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
  wording = await wordAnew();
});

// Test files share a process: whoever comes next reads the words as they are.
afterAll(() => wording.restore());

it('every table of phrases was worded anew: on checks, page 1 of the record, decisions, things to sign and more', () => {
  expect(wording.tables.filter((table) => table.startsWith('checks/')).length).toBeGreaterThan(20);
  expect(wording.tables).toEqual(
    expect.arrayContaining([
      'record-cover.ts COVER',
      'claims.ts CLAIM_PHRASES',
      'things.ts THINGS',
      'label-words.ts LABEL_WORDS',
      'kinds.ts KINDS_IN_WORDS',
      'kinds.ts THINGS_IN_WORDS',
      'acts.ts ACT_WORDS',
      'ties.ts TIES_IN_WORDS',
      'trade-codes.ts STEPS',
      'trail-acts.ts EVENT_ACTS',
    ]),
  );
});

it('so was what every function of phrases makes of codes and facts', () => {
  expect(wording.functions.length).toBeGreaterThan(40);
  expect(wording.functions).toEqual(
    expect.arrayContaining([
      'acts.ts actNameText',
      'differences.ts differenceText',
      'kinds.ts kindText',
      'log-finding.ts findingText',
      'rejected-rows.ts takenLogText',
      'trade-codes.ts stepText',
      'values.ts valueText',
    ]),
  );
  expect(findingText(GAP)).toBe(`gap${MARK}, for 2 s${MARK}`);
});

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
  const report = await verifyRecord(records.ofAnother);
  const { answer, steps } = report;
  expect(steps.filter(({ outcome }) => outcome === 'does not hold' || outcome === 'differs')).toEqual([]);
  expect(reportInWords(report).steps.filter(({ says }) => !says.endsWith(MARK))).toEqual([]);
  expect(answer).toBe('issuer not compared');
  expect(steps.find(({ step }) => step === 'assessment')).toMatchObject({ outcome: 'holds' });
});

it('its log scanned again gives the same findings: parts are codes and facts', async () => {
  const findings = [...lot.facts.logParts.values()].flatMap((part) => part.findings);
  const details = findings.flatMap(({ facts }) => facts.what ?? []);
  expect(details.map(({ code }) => code).sort()).toEqual(['rejected', 'step', 'zone']);
  expect(details.map(detailText).filter((text) => !text.endsWith(MARK))).toEqual([]);
  const { answer, steps } = await verifyRecord(records.ofAnother, { evidence });
  expect(steps).toContainEqual(expect.objectContaining({ step: 'log', of: 'M1-101', outcome: 'holds' }));
  expect(answer).toBe('issuer not compared');
});

it('the command that verifies ends with 0 for it', async () => {
  const { code, text } = await runCommand('', ['verify', records.ofAnother]);
  expect(text).toContain(`That is not the same as true, complete or released.${MARK}`);
  expect(code).toBe(0);
});

it('the words stand on its pages, which the build that drew them would draw otherwise now', async () => {
  const { steps } = await verifyRecord(records.ofThisBuild);
  expect(steps.filter(({ outcome }) => outcome === 'does not hold').map(({ step }) => step)).toEqual(['pages']);
});

it('gives every word back to the test file that comes next', () => {
  expect(MOMENT_QUESTIONS.build).toBe(`May we build?${MARK}`);
  wording.restore();
  expect(MOMENT_QUESTIONS.build).toBe('May we build?');
  expect(findingText(GAP)).toBe('gap, for 2 s');
});
