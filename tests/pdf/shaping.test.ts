import { createRequire } from 'node:module';
import * as fontkit from 'fontkit';
import { drawableText, MissingGlyphError, missingCharacters, shape, widthOf } from '../../src/pdf/shaping.js';
import { oneLine, visibleText } from '../../src/pdf/visible-text.js';

const SOURCE_SANS = createRequire(import.meta.url).resolve(
  '@expo-google-fonts/source-sans-3/400Regular/SourceSans3_400Regular.ttf',
);

function drawn(text: string): string {
  return shape(text, 'regular')
    .flatMap((run) => run.glyphs)
    .map((glyph) => String.fromCodePoint(...glyph.codePoints))
    .join('');
}

describe('widths', () => {
  const font = fontkit.openSync(SOURCE_SANS);

  it.each(['AVATAR', 'To be kerned: Ty, We, LT', 'difficult office', 'Žluťoučký kůň', 'x'])(
    '"%s" is as wide as fontkit lays it out without ligatures',
    (text) => {
      const { positions } = font.layout(text, { liga: false });
      const width = positions.reduce((sum, position) => sum + position.xAdvance, 0);
      expect(widthOf(text, 'regular', 1000)).toBeCloseTo(width, 6);
    },
  );

  it('gives all digits one width, so that figures stand under each other', () => {
    const widths = Array.from('0123456789', (digit) => widthOf(`1${digit}1`, 'regular', 10));
    expect(new Set(widths).size).toBe(1);
  });
});

describe('characters that the body font lacks', () => {
  it.each(['⚠', '⌀', '∅', 'ₚ', 'ₖ', 'א', 'ب', '✕'])('%s comes from DejaVu without being asked for', (character) => {
    const [run] = shape(character, 'regular');
    expect(run!.font.file).toContain('DejaVuSans.ttf');
    expect(missingCharacters(character)).toEqual([]);
  });

  it.each(['中', '龍', '骨', 'か', 'ナ', '한', '국', '、'])(
    '%s comes from Micro Hei, as bold and as mono',
    (character) => {
      for (const face of ['regular', 'bold', 'italic', 'mono'] as const) {
        expect(shape(character, face)[0]!.font.file).toContain('WenQuanYiMicroHei.ttf');
      }
    },
  );

  it('keeps one run per font', () => {
    const files = shape('a ⚠ b', 'regular').map((run) => run.font.file.replace(/.*\//, ''));
    expect(files).toEqual(['SourceSans3_400Regular.ttf', 'DejaVuSans.ttf', 'SourceSans3_400Regular.ttf']);
  });

  it('are named with their code where no font has them', () => {
    expect(() => shape('Lot 🧪🦴 7', 'regular')).toThrow(MissingGlyphError);
    expect(() => shape('Lot 🧪🦴 7', 'regular')).toThrow(
      'no sign for "🧪" [U+1F9EA], "🦴" [U+1F9B4] in the text "Lot 🧪🦴 7"',
    );
    expect(missingCharacters('Lot 🧪🦴🧪 7 ไ')).toEqual(['🧪', '🦴', 'ไ']);
  });

  it('are written as their code where text is laid out', () => {
    expect(drawableText('Lot 🧪 中 7\n', 'bold')).toBe('Lot [U+1F9EA] 中 7\n');
    expect(drawableText('Zinn', 'bold')).toBe('Zinn');
  });
});

describe('the order of drawing', () => {
  it('turns right-to-left words and keeps numbers (UAX #9, plain case)', () => {
    expect(drawn('ab שלום 12 אב cd')).toBe('ab בא 12 םולש cd');
    expect(drawn('ab שלום 12, cd')).toBe('ab 12 םולש, cd');
  });

  it('leaves a text from left to right alone', () => {
    expect(drawn('Plate 24 (left)')).toBe('Plate 24 (left)');
  });

  it('joins Arabic letters as the font does', () => {
    const isolated = Array.from('سلام', (letter) => shape(letter, 'regular')[0]!.glyphs[0]!.id);
    const joined = shape('سلام', 'regular')[0]!.glyphs.map((glyph) => glyph.id);
    expect(joined).not.toEqual([...isolated].reverse());
  });
});

describe('visible text', () => {
  it.each([
    ['a bell', 'a\u0007b', 'a[U+0007]b'],
    ['a turned direction', 'a\u202eb', 'a[U+202E RLO]b'],
    ['a blank of no width', 'a\u200bb', 'a[U+200B]b'],
    ['half a surrogate pair', 'a\ud800b', 'a[U+D800]b'],
    ['a byte order mark', '\ufeffa', '[U+FEFF]a'],
    ['a private sign', '\ue000', '[U+E000]'],
    ['a tab', 'a\tb', 'a b'],
    ['other line ends', 'a\r\nb\rc', 'a\nb\nc'],
    ['a letter in two parts', 'e\u0301', '\u00e9'],
  ])('shows %s', (_, text, shown) => {
    expect(visibleText(text)).toBe(shown);
  });

  it('has one line where there is room for one', () => {
    expect(oneLine('a\nb')).toBe('a b');
  });
});
