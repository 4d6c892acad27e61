import { execFileSync } from 'node:child_process';
import type { TrailLine } from '../../src/ledger/trail.js';
import { renderTrailReport, type TrailReport } from '../../src/records/trail-report.js';
import { checkPdf } from '../support/pdf-check.js';
import { PdfObjects, withFile } from '../support/pdf-objects.js';
import { withTool } from '../support/tools.js';

const line = (seq: number, more: Partial<TrailLine> = {}): TrailLine => ({
  seq,
  at: '2031-03-04T09:00:00.000Z',
  offset: '+01:00',
  actor: 'person:P-QE',
  act: 'changed',
  subject: { kind: 'recipe', key: 'R-1', revision: 2 },
  reason: 'laser was exchanged',
  changes: [{ what: 'zones[0].powerW', before: '220', after: '240', reason: null }],
  ...more,
});

const report = (lines: readonly TrailLine[]): TrailReport => ({
  lines,
  filter: { thing: 'R-1', act: 'revision-recorded' },
  head: { origin: 'lotwright.invalid/0123456789abcdef', size: 900, root: 'ab'.repeat(32) },
  printedAt: new Date('2031-03-05T08:00:00Z'),
  printedBy: 'person:P-AU',
  program: 'Lotwright test',
  demo: false,
});

const textOf = (pdf: Buffer): string =>
  withFile(pdf, (file) => execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' })).replaceAll(
    /\s+/g,
    ' ',
  );

withTool('qpdf', 'the audit trail on paper', () => {
  it('keeps the rules of tagged archive files, over many pages and with nothing at all', async () => {
    const many = Array.from({ length: 300 }, (_, index) => line(index + 1));
    for (const lines of [[], [line(7)], many]) {
      expect(checkPdf(PdfObjects.read(await renderTrailReport(report(lines))))).toEqual([]);
    }
  });

  it('gives the same bytes for the same lines', async () => {
    const [once, again] = [await renderTrailReport(report([line(7)])), await renderTrailReport(report([line(7)]))];
    expect(once.equals(again)).toBe(true);
  });
});

withTool('pdftotext', 'what the audit trail on paper says', () => {
  it('is who did what, when and why, with old and new values, and what was searched for', async () => {
    const text = textOf(await renderTrailReport(report([line(7)])));
    for (const words of [
      'person:P-QE',
      '2031-03-04',
      '220, then 240',
      'laser',
      'thing R-1',
      '900 entries',
      'ab'.repeat(32),
    ]) {
      expect(text).toContain(words);
    }
  });

  it('tells a removed value, reasons of single values, and how many values it leaves out', async () => {
    const changes = Array.from({ length: 30 }, (_, index) => ({
      what: `v${index}`,
      before: 'x',
      after: null,
      reason: index === 0 ? 'misread' : null,
    }));
    const text = textOf(await renderTrailReport(report([line(8, { reason: null, changes })])));
    for (const words of ['x, removed', 'misread', 'and 5 more']) expect(text).toContain(words);
  });

  it('says so when nothing was found', async () => {
    expect(textOf(await renderTrailReport(report([])))).toContain('Nothing in the audit trail is as searched for.');
  });
});
