// Not quick: it draws the file of a design and starts a service.
import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { evidenceOf } from '../../src/design-file/paper/content.js';
import { DesignEnclosure, issueOfDesign } from '../../src/design-file/paper/enclosure.js';
import { renderDesign } from '../../src/design-file/paper/render.js';
import { canonicalJson, digestOf } from '../../src/dossier/canonical.js';
import { openPdf } from '../../src/pdf/reading/open-pdf.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { addExposures, LOSSES_WITH_REPLICATES } from '../support/documents/exposures.js';
import { runCommand } from '../support/run-command.js';
import { serviceOver, type TestService } from '../support/service.js';
import { openServices } from '../support/services.js';
import { signWhatCameIn } from '../support/sign-cell.js';
import { addDesignHistory } from '../support/whole-history.js';

const SAYS = 'By loss against window it holds. n 10; weeks to hold 6; confidence 0.95';
const words = (html: string) => html.replaceAll(/<[^>]+>/g, ' ').replaceAll(/\s+/g, ' ');

/** A cell whose study claims that plates hold for six weeks, and rests on what its ten pieces lost. */
let data: string;
let service: TestService;

beforeAll(async () => {
  const cell = makeCell();
  addExposures(cell, LOSSES_WITH_REPLICATES);
  addDesignHistory(cell);
  const study = Object.values(cell.documents).find(({ kind }) => kind === 'design-study')!;
  const window = { zoneClass: 'load-bearing', section: { shape: 'plate', sizeMm: '2' } };
  Object.assign(study, {
    ...{ technique: 'loss against window', n: 10, coupons: ['L-1-W1', 'L-1-W2'] },
    ...{ from: '2031-03-05', to: '2031-05-28' },
    report: { ...study.report, at: '2031-06-02' },
    criterion: {
      ...{ characteristic: 'rate', claim: 'at least', value: '6', ucum: 'wk', by: 'loss against window' },
      window: { ...window, strengthLeft: '0.7', stiffnessLeft: '0.5' },
    },
  });
  data = path.join(temporaryFolder('loss'), 'data');
  const services = await openServices(DataFolder.createDemo(data, '2031-12-01T12:00:00Z'));
  await services.intake.run(writeCell(cell), 'local:tester');
  await signWhatCameIn(services);
  await services.store.close();
  service = await serviceOver(data);
});
afterAll(() => service.close());

const answered = async (...more: string[]) => {
  const { text } = await runCommand(data, ['--json', 'design', 'PLATE', ...more]);
  return JSON.parse(text);
};
const verified = async (file: string) => {
  const { code, text } = await runCommand(data, ['--json', 'verify', file]);
  const { steps } = JSON.parse(text) as { steps: { code: string; outcome: string }[] };
  return { code, broken: steps.filter(({ outcome }) => /does not hold|differs/.test(outcome)).map((one) => one.code) };
};

it('is computed from the exposures on record, and is no gap', async () => {
  const { claims, gaps } = await answered();
  expect(claims).toMatchObject([
    { study: 'DS-1', method: 'loss against window', answer: 'holds', why: null, lots: ['L-1'], values: 10 },
  ]);
  expect(claims[0].says).toContain(SAYS);
  // Beam theory: six weeks take 46 µm from either face of 2 mm, and pits half as much again: (1 - 0.069)² is left of the strength.
  expect(claims[0].numbers.localisation).toBeCloseTo(1.5, 2);
  expect(claims[0].numbers.strengthMean).toBeCloseTo(0.866, 2);
  expect(claims[0].numbers.strengthLower).toBeGreaterThan(0.7);
  const rules = gaps.map(({ rule }: { rule: string }) => rule);
  expect(rules.filter((rule: string) => /^(claim|criterion|study)-/.test(rule))).toEqual([]);
});

it('stands on the page of the design and of its study', async () => {
  const whole = await service.ask.get('/design?family=PLATE');
  expect(words(whole.text)).toContain(SAYS);
  const study = await service.ask.get('/design/entry?family=PLATE&kind=design-study&key=DS-1');
  expect(words(study.text)).toContain(SAYS);
  expect(words(study.text)).toContain(
    'rate: zones of class load-bearing hold at least 6 weeks; of a plate of 2 mm 0.7 of',
  );
});

it('stands in the file of the design with each exposure, and comes to the same without the cell', async () => {
  const file = path.join(path.dirname(data), 'loss.pdf');
  await runCommand(data, ['design', 'PLATE', '--out', file]);
  const said = execFileSync('pdftotext', ['-layout', file, '-']).toString().replaceAll(/\s+/g, ' ');
  expect(said).toContain('By loss against window it holds');
  expect(said).toContain('zones of class load-bearing hold at least 6 weeks');
  expect(await verified(file)).toEqual({ code: 0, broken: [] });
  // An exposure that lost more than was weighed, under its old digest, under a new one, and a claim that says otherwise.
  const { contents } = await openPdf(file);
  const textIn = (name: string) => Buffer.from(contents.attachments.get(name)!).toString('utf8');
  const enclosure = DesignEnclosure.parse(JSON.parse(textIn('enclosure.json')));
  // biome-ignore lint/suspicious/noExplicitAny: forged at any depth
  const forged = async (name: string, change: (design: any) => void) => {
    const design = JSON.parse(textIn('design-history.json'));
    change(design);
    const made = await renderDesign({
      ...{ designText: canonicalJson(design), templateText: textIn('record-template.yaml') },
      ...{ evidence: evidenceOf(design, contents.attachments), issue: issueOfDesign(enclosure) },
    });
    const forgery = path.join(path.dirname(data), `${name}.pdf`);
    fs.writeFileSync(forgery, made.pdf);
    return verified(forgery);
  };
  // biome-ignore lint/suspicious/noExplicitAny: forged at any depth
  const heavier = (design: any) => {
    const [exposure] = design.studied.find(({ exposed }: { exposed?: object }) => exposed !== undefined).exposed
      .exposures;
    exposure.body.massG.afterCleaning = '1.92300';
    return exposure;
  };
  expect(await forged('spoilt', heavier)).toMatchObject({
    code: 6,
    broken: expect.arrayContaining(['document spoilt']),
  });
  const renamed = await forged('renamed', (design) => {
    const exposure = heavier(design);
    exposure.digest = digestOf(exposure.body);
  });
  expect(renamed).toMatchObject({ code: 6, broken: expect.arrayContaining(['not proven']) });
  const claimed = await forged('claimed', ({ found }) => {
    found.claims[0].numbers.strengthMean = 0.99;
  });
  expect(claimed).toEqual({ code: 6, broken: ['design otherwise'] });
});
