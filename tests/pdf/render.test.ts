import { execFileSync } from 'node:child_process';
import { type Draw, renderTwice } from '../../src/pdf/render.js';
import { checkPdf } from '../support/pdf-check.js';
import { PdfObjects, withFile } from '../support/pdf-objects.js';
import { SAMPLE_IDENTITY } from '../support/record-sample.js';
import { withTool } from '../support/tools.js';

const render = (draw: Draw, more = {}) => renderTwice({ ...SAMPLE_IDENTITY, state: 'final', ...more }, draw);

describe('a record is refused', () => {
  it.each<[string, Draw, string]>([
    ['for a link that leads nowhere', (page) => page.paragraph([{ text: 'x', to: 'row 9' }]), 'links to "row 9"'],
    ['for a page of nothing', (page) => page.paragraph(page.pageOf('row 9')), 'links to "row 9"'],
    [
      'for two places of one name',
      (page) => {
        page.anchor('a');
        page.anchor('a');
      },
      'both named "a"',
    ],
    [
      'for an attachment whose name is a path',
      (page) =>
        page.attach({
          name: '../x',
          bytes: Buffer.from('x'),
          mediaType: 'text/plain',
          relationship: 'Data',
          description: 'x',
        }),
      'cannot be named "../x"',
    ],
  ])('%s', async (_, draw, words) => {
    await expect(render(draw)).rejects.toThrow(words);
  });

  it('for a digest that is none', async () => {
    await expect(render(() => undefined, { digest: 'ABC' })).rejects.toThrow('no SHA-256');
  });

  it('for a time that is none', async () => {
    await expect(render(() => undefined, { printedAt: new Date(Number.NaN) })).rejects.toThrow('is no time');
  });

  it('for a drawing that is another one each time', async () => {
    let count = 0;
    const draw: Draw = (page) => page.heading(1, `Heading ${count++}`);
    await expect(render(draw)).rejects.toThrow('still change');
  });
});

withTool('qpdf', 'the structure of unusual records', () => {
  const cases: readonly (readonly [string, Draw])[] = [
    ['nothing at all', () => undefined],
    ['a heading alone', (page) => page.heading(1, 'Alone')],
    [
      'parts without contents',
      (page) => {
        page.list([]);
        page.facts([]);
        page.callout({ kind: 'note', title: 'Nothing', items: [] });
        page.contents();
        page.paragraph('');
      },
    ],
    [
      'a link over several lines and pages',
      (page) => {
        page.anchor('top');
        page.paragraph([{ text: 'a link that goes on and on '.repeat(400), to: 'top' }]);
        page.callout({ kind: 'caution', title: 'Long', items: ['much to say '.repeat(900), 'and more'] });
      },
    ],
    [
      'names and titles full of signs',
      (page) => {
        page.heading(1, '(Heading) \\ <</S>> & \u0007', { anchor: 'Ä ( \\' });
        page.heading(2, 'é'.repeat(3000));
        page.paragraph([{ text: 'back', to: 'Ä ( \\' }]);
        page.facts([['label '.repeat(600), 'value '.repeat(600)]]);
      },
    ],
  ];

  it.each(cases)('%s', async (_, draw) => {
    const bytes = await render(draw, { title: 'Title \u0007 & (x) \\', author: '<a>' });
    expect(checkPdf(PdfObjects.read(bytes))).toEqual([]);
  });
});

withTool('pdftotext', 'the table of contents', () => {
  it('names the page on which each of 300 headings stands', async () => {
    const bytes = await render((page) => {
      page.heading(1, 'Contents', { listed: false });
      page.contents(3);
      for (let index = 1; index <= 300; index++) {
        page.heading(index % 10 === 1 ? 1 : 2, `Heading number ${index};`);
        page.paragraph('filler '.repeat((index * 37) % 200));
      }
    });
    const pages = withFile(bytes, (file) =>
      execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' }),
    ).split('\f');
    const entries = [...pages.join('\n').matchAll(/Heading number (\d+); +(\d+)$/gm)];
    expect(entries).toHaveLength(300);
    for (const [, heading, page] of entries) {
      const lines = pages[Number(page) - 1]!.split('\n').map((line) => line.trim());
      expect(lines).toContain(`Heading number ${heading};`);
    }
  });

  it('prints the page of an anchor where it is asked for', async () => {
    const bytes = await render((page) => {
      page.paragraph(`The finding is on page ${page.pageOf('finding')}.`);
      for (let index = 0; index < 11; index++) page.heading(1, `Part ${index}`, { newPage: true });
      page.anchor('finding');
    });
    const text = withFile(bytes, (file) => execFileSync('pdftotext', [file, '-'], { encoding: 'utf8' }));
    expect(text).toContain('The finding is on page 12.');
    expect(text).toContain('Page 12 of 12');
  });
});

withTool('pdftotext', 'a block of names and values', () => {
  it.each([0, 3, 6, 9, 12].map((more) => 30 + more))('stands on one page after %i lines', async (lines) => {
    const bytes = await render((page) => {
      for (let line = 0; line < lines; line++) page.paragraph(`Line ${line}`);
      page.facts(Array.from({ length: 5 }, (_, index) => [`Name ${index};`, 'a value of two lines '.repeat(6)]));
    });
    const pages = withFile(bytes, (file) => execFileSync('pdftotext', [file, '-'], { encoding: 'utf8' })).split('\f');
    const on = pages.map((text) => text.match(/Name \d;/g)?.length ?? 0).filter((count) => count > 0);
    expect(on).toEqual([5]);
  });
});
