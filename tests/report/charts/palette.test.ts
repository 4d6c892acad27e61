import { INK } from '../../../src/base/scene.js';
import * as palette from '../../../src/report/charts/palette.js';

/** Relative luminance and contrast ratio by WCAG 2.2, "relative luminance" and "contrast ratio" (from memory). */
function luminance(colour: string): number {
  const [red, green, blue] = [1, 3, 5].map((at) => {
    const share = Number.parseInt(colour.slice(at, at + 2), 16) / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  }) as [number, number, number];
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}

function contrast(a: string, b: string): number {
  const [light, dark] = [luminance(a), luminance(b)].sort((x, y) => y - x) as [number, number];
  return (light + 0.05) / (dark + 0.05);
}

describe('the palette', () => {
  it('gives white and black the contrast that WCAG names', () => {
    expect(contrast('#ffffff', '#000000')).toBeCloseTo(21, 6);
  });

  it.each([
    ['ink', INK],
    ['muted', palette.MUTED],
    ['specification', palette.SPECIFICATION],
    ['limit of the chart', palette.LIMIT_OF_CHART],
    ['attention', palette.ATTENTION],
    ['undecided', palette.UNDECIDED],
    ['reject', palette.LEVEL_COLOUR.reject],
  ])('%s is readable as text on paper (WCAG 1.4.3: 4.5)', (_, colour) => {
    expect(contrast(colour, palette.PAPER)).toBeGreaterThanOrEqual(4.5);
  });

  it.each([palette.ATTENTION_LIGHT, palette.UNDECIDED_LIGHT, palette.CALM_LIGHT])('%s lets ink be read', (ground) => {
    expect(contrast(INK, ground)).toBeGreaterThanOrEqual(10);
  });

  it('gets darker with the level, also in grey', () => {
    const { alert, action, reject } = palette.LEVEL_COLOUR;
    expect(luminance(alert)).toBeGreaterThan(luminance(action) * 1.5);
    expect(luminance(action)).toBeGreaterThan(luminance(reject) * 1.5);
  });

  it.each(Object.values(palette.LEVEL_COLOUR))('%s is seen as a line on paper (WCAG 1.4.11: 3)', (colour) => {
    expect(contrast(colour, palette.PAPER)).toBeGreaterThanOrEqual(3);
  });
});
