import { labelCells } from '../../src/web/label-cells.js';

const HEAD =
  '<thead><tr><th scope="col">Implant</th><th scope="col">Value /mm<span class="limits">at most 2</span></th></tr></thead>';

it('gives each cell the head of its column, and row heads none', () => {
  const table = `<table>${HEAD}<tbody><tr><th scope="row">X-1</th><td class="number">1.5</td></tr></tbody></table>`;
  expect(labelCells(`<p>${table}</p>`)).toBe(
    `<p>${table.replace('class="number"', 'class="number" data-label="Value /mm"')}</p>`,
  );
});

it('leaves alone what has no head, and what is no table', () => {
  const html = '<table><tbody><tr><td>1</td></tr></tbody></table><p>td</p>';
  expect(labelCells(html)).toBe(html);
});
