import { components, number, pathOperators } from './content-operators.js';
import { type PlainGlyph, plainGlyph } from './fonts.js';
import { PAGE } from './sheet.js';

/** Light enough that text over it keeps more than the contrast that WCAG 2.2 asks for. */
const COLOUR = '#f0f2f4';
const SIZE_PT = 150;

/** The same on every page. */
const drawn = new Map<string, string>();

/** The word in large letters from the lower left to the upper right, drawn as outlines around the page's middle. */
export function watermarkOperators(word: string): string {
  const operators = drawn.get(word) ?? draw(word);
  drawn.set(word, operators);
  return operators;
}

function draw(word: string): string {
  const glyphs = Array.from(word, (character) => plainGlyph('bold', character.codePointAt(0)!)!);
  const width = glyphs.reduce((sum, glyph) => sum + glyph.advance, 0);
  const scale = SIZE_PT / 1000;
  const letters: string[] = [];
  let x = -width / 2;
  for (const glyph of glyphs) {
    const unit = glyph.font.scale;
    letters.push(`q ${number(unit)} 0 0 ${number(unit)} ${number(x)} -330 cm ${outlineOf(glyph)} f Q`);
    x += glyph.advance;
  }
  const diagonal = Math.SQRT1_2 * scale;
  const turn = [diagonal, -diagonal, -diagonal, -diagonal].map((value) => value.toFixed(5)).join(' ');
  const middle = `${number(PAGE.width / 2)} ${number(PAGE.height / 2)}`;
  return `q ${components(COLOUR)} rg ${turn} ${middle} cm ${letters.join(' ')} Q`;
}

/** fontkit writes quadratic curves too; PDF has cubic ones only. */
function outlineOf(glyph: PlainGlyph): string {
  return pathOperators(withCubics(glyph.font.font.glyphForCodePoint(glyph.codePoint).path.toSVG()));
}

function withCubics(d: string): string {
  let at: readonly [number, number] = [0, 0];
  return (d.match(/[MLQCZ][^MLQCZ]*/g) ?? [])
    .map((step) => {
      const values = (step.slice(1).match(/-?[\d.]+/g) ?? []).map(Number);
      const from = at;
      if (values.length >= 2) at = [values.at(-2)!, values.at(-1)!];
      return step[0] === 'Q' ? cubic(from, values) : `${step[0]}${values.join(' ')}`;
    })
    .join('');
}

function cubic([x0, y0]: readonly [number, number], [qx, qy, x, y]: readonly number[]): string {
  const toward = (end: number, control: number) => number(end + (2 / 3) * (control - end));
  const controls = [toward(x0, qx!), toward(y0, qy!), toward(x!, qx!), toward(y!, qy!)];
  return `C${controls.join(' ')} ${x} ${y}`;
}
