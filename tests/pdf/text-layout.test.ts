import fc from 'fast-check';
import { widthOf } from '../../src/pdf/shaping.js';
import { breakLines, type Line, naturalWidths } from '../../src/pdf/text-layout.js';

const SETTING = { face: 'regular', sizePt: 10 } as const;

function texts(lines: readonly Line[]): string[] {
  return lines.map((line) => line.fragments.map((fragment) => fragment.text).join(''));
}

describe('breaking lines', () => {
  it('breaks between words', () => {
    expect(texts(breakLines('one two three four', SETTING, 50))).toEqual(['one two', 'three four']);
  });

  it('begins a new line where the text says so', () => {
    expect(texts(breakLines('one\n\ntwo', SETTING, 500))).toEqual(['one', '', 'two']);
  });

  it('keeps an identifier together while it fits on a line', () => {
    expect(texts(breakLines('see LW-2031-004/03 now', SETTING, 72))).toEqual(['see', 'LW-2031-004/03', 'now']);
  });

  it('breaks a longer one after a sign rather than within a group', () => {
    expect(texts(breakLines('LW-2031-004/03', SETTING, 50))).toEqual(['LW-2031-', '004/03']);
  });

  it('keeps a blank together that must not be broken', () => {
    expect(texts(breakLines('a 5\u00a0mm plate', SETTING, 26))).toEqual(['a', '5\u00a0mm', 'plate']);
  });

  it('glues stretches that have no blank between them', () => {
    const lines = breakLines(['see ', { text: 'row 3', to: 'r3' }, ', then go'], SETTING, 37);
    expect(texts(lines)).toEqual(['see row', '3, then', 'go']);
    expect(lines[0]!.fragments.map((fragment) => fragment.to)).toEqual([undefined, 'r3']);
  });

  it('never loses a character and never makes a line too wide', () => {
    const width = 60;
    fc.assert(
      fc.property(fc.string({ unit: fc.constantFrom(...'ab WiM-/.\u00e9⚠ש1 \n'), maxLength: 120 }), (text) => {
        const lines = breakLines(text, SETTING, width);
        expect(texts(lines).join('').replace(/\s/g, '')).toBe(text.normalize('NFC').replace(/\s/g, ''));
        for (const line of lines) expect(line.width).toBeLessThanOrEqual(width + 0.5);
      }),
      { numRuns: 300, seed: 20310504 },
    );
  });

  it('breaks a very long word and loses none of it', () => {
    const lines = breakLines('x'.repeat(200_000), SETTING, 480);
    expect(texts(lines).join('')).toHaveLength(200_000);
  });

  it('gives a column the width of its longest word', () => {
    expect(naturalWidths('one twenty three', SETTING).word).toBeCloseTo(widthOf('twenty', 'regular', 10), 9);
    expect(naturalWidths('', SETTING)).toEqual({ full: 0, word: 0 });
  });
});
