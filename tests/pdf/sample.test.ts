import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { renderTwice } from '../../src/pdf/render.js';
import { checkPdf } from '../support/pdf-check.js';
import { PdfObjects, withFile } from '../support/pdf-objects.js';
import { drawSample, SAMPLE_IDENTITY } from '../support/record-sample.js';
import { withTool, withTools } from '../support/tools.js';
import { outsideMargins, overlaps, wordBoxes } from '../support/word-boxes.js';
import { xmlProblem } from '../support/xml.js';

const bytes = await renderTwice(SAMPLE_IDENTITY, drawSample);

function run(tool: string, options: (file: string, folder: string) => string[]): string {
  return withFile(bytes, (file, folder) => execFileSync(tool, options(file, folder), { encoding: 'utf8' }));
}

describe('a sample with one of everything', () => {
  it('gives the same bytes again', async () => {
    expect((await renderTwice(SAMPLE_IDENTITY, drawSample)).equals(bytes)).toBe(true);
  });

  it('gives the same bytes in another process, time zone and language', () => {
    const script = `
      import { createHash } from 'node:crypto';
      const { renderTwice } = await import('./src/pdf/render.ts');
      const { drawSample, SAMPLE_IDENTITY } = await import('./tests/support/record-sample.ts');
      const bytes = await renderTwice(SAMPLE_IDENTITY, drawSample);
      console.log(createHash('sha256').update(bytes).digest('hex'));`;
    const hooks = path.resolve('tests/support/typescript.mjs');
    const other = execFileSync(process.execPath, ['--import', hooks, '--input-type=module', '--eval', script], {
      encoding: 'utf8',
      env: { ...process.env, NODE_OPTIONS: '', TZ: 'Pacific/Apia', LC_ALL: 'tr_TR.UTF-8' },
    });
    expect(other.trim()).toBe(createHash('sha256').update(bytes).digest('hex'));
  });

  it('is a different file for another revision', async () => {
    const next = await renderTwice({ ...SAMPLE_IDENTITY, revision: '3' }, drawSample);
    expect(next.equals(bytes)).toBe(false);
  });
});

withTool('qpdf', 'the sample as qpdf reads it', () => {
  it('has no error of syntax or encoding', () => {
    expect(run('qpdf', (file) => ['--check', file])).toContain('No syntax or stream encoding errors found');
  });

  it('keeps the rules of PDF/A-3a and of tagged PDF that our checker knows', () => {
    expect(checkPdf(PdfObjects.read(bytes))).toEqual([]);
  });
});

withTools(['pdftotext', 'pdffonts', 'pdfdetach'], 'the sample as poppler reads it', () => {
  const text = run('pdftotext', (file) => ['-layout', file, '-']);

  it('has its words as text, also those of charts', () => {
    for (const words of [
      'Decision per implant',
      '✓ conforms',
      'Page 1 of 9',
      'LR-2031-004 · revision 2 · draft',
      'at most 3.600',
      'reject: above 400 ppm while peening',
      '1e+24.5',
      'Nothing was recorded.',
    ]) {
      expect(text).toContain(words);
    }
  });

  it('keeps the draft mark out of the text', () => {
    expect(text).not.toContain('DRAFT');
  });

  it('lays hostile strings out as text and shows what would be invisible', () => {
    expect(text).toContain('ET Q (Tj) >> endobj \\) << /S /JavaScript >>');
    expect(text).toContain('<script>alert("x")</script> & <b>bold</b>');
    expect(text).toContain('bell [U+0007], null [U+0000], escape [U+001B][31m, turned [U+202E RLO]gnp.exe');
    expect(text.replace(/\s/g, '')).toContain('0123456789abcdef'.repeat(20));
    expect(text).toContain('Žluťoučký');
  });

  it('repeats heads and names the table on every page that it reaches', () => {
    expect(text.match(/Tall, continued/g)).toHaveLength(2);
    expect(text.match(/^ ?Key +Text$/gm)).toHaveLength(3);
  });

  it('embeds every font as a subset with a map to Unicode', () => {
    const fonts = run('pdffonts', (file) => [file])
      .trim()
      .split('\n')
      .slice(2);
    expect(fonts.length).toBeGreaterThanOrEqual(5);
    for (const font of fonts) expect(font).toMatch(/^[A-Z]{6}\+.* yes yes yes +\d+ +\d+$/);
  });

  it('gives its attachments back byte by byte', () => {
    withFile(bytes, (file, folder) => {
      execFileSync('pdfdetach', ['-saveall', '-o', folder, file]);
      expect(readFileSync(path.join(folder, 'dossier.json'), 'utf8')).toBe('{"format":1}\n');
      expect(readFileSync(path.join(folder, 'Results.csv'), 'utf8')).toBe('specimen,value\n26-031,3.502\n');
    });
  });

  it('keeps every word within the margins and clear of every other word', () => {
    const words = wordBoxes(run('pdftotext', (file) => ['-bbox', file, '-']));
    expect(words.length).toBeGreaterThan(2000);
    expect(outsideMargins(words)).toEqual([]);
    expect(overlaps(words)).toEqual([]);
  });
});

withTool('qpdf', 'the metadata packet', () => {
  it('is well-formed XML that names number, revision and digest', () => {
    const pdf = PdfObjects.read(bytes);
    const packet = pdf.bytes(pdf.catalogue['/Metadata']);
    expect(xmlProblem(packet.toString())).toBeUndefined();
    expect(packet.toString()).toContain('<rec:number>LR-2031-004</rec:number>');
    expect(packet.toString()).toContain('<rec:revision>2</rec:revision>');
    expect(packet.toString()).toContain(`<rec:digest>${SAMPLE_IDENTITY.digest}</rec:digest>`);
    expect(packet.toString()).toContain('Example Implants &amp; Sons');
  });
});
