import fs from 'node:fs';
import path from 'node:path';
import type { SiteZone } from '../../src/base/clock.js';
import { INK, type Mark } from '../../src/base/scene.js';
import * as palette from '../../src/report/charts/palette.js';
import { toSvg } from '../../src/report/charts/scene-svg.js';
import { alignDecimals } from '../../src/web/decimal-column.js';
import { attachment } from '../../src/web/disposition.js';
import { minusSigns } from '../../src/web/minus-signs.js';
import { PAGE_TEMPLATES } from '../../src/web/pages.js';
import { siteTimes } from '../../src/web/site-times.js';

it('sets decimal points below each other, with blanks as wide as what is missing', () => {
  const cells = alignDecimals(['208.4', '<9', '12.345', 'missing', '-3.']);
  const right = (text: string, pad: string) =>
    (text.split('.')[1] ?? '').length + (text.includes('.') ? 1 : 0) + pad.length;
  expect(cells.slice(0, 3).map(({ text, pad }) => right(text, pad))).toEqual([4, 4, 4]);
  expect(cells[3]).toEqual({ text: 'missing', pad: '' });
});

it('names a download as RFC 6266 (section 5, third example) and RFC 8187 do', () => {
  expect(attachment('€ rates').toLowerCase()).toBe(
    `attachment; filename="__rates"; filename*=utf-8''%e2%82%ac%20rates`,
  );
  expect(attachment('../logs/a"b\r\nc.csv')).toBe(
    `attachment; filename="a_b__c.csv"; filename*=UTF-8''a%22b%0D%0Ac.csv`,
  );
});

it('tells times by the clocks of the place with their offset, but for what people typed', () => {
  const zone = {
    name: 'Europe/Berlin',
    local: (moment: string) => new Date(Date.parse(moment) + 3_600_000).toISOString().slice(0, 16),
    offset: () => '+01:00',
  } as unknown as SiteZone;
  const typed = '<textarea>2031-03-03 23:30 UTC</textarea><input value="2031-03-03 23:30 UTC">';
  expect(siteTimes(`<td>at 2031-03-03 23:30 UTC</td>${typed}`, zone)).toBe(
    `<td>at 2031-03-04 00:30 +01:00</td>${typed}`,
  );
  const utc = { ...zone, name: 'UTC' } as SiteZone;
  expect(siteTimes('<td>2031-03-03 23:30 UTC</td>', utc)).toBe('<td>2031-03-03 23:30 UTC</td>');
});

it.each([
  ['<td>-40</td>', '<td>−40</td>'],
  ['at most -0.5 MPa, (-84 to -79), &lt;-3, 5 ± -1', 'at most −0.5 MPa, (−84 to −79), &lt;−3, 5 ± −1'],
  ['BP-213-1, 2031-03-04, L-1/-2, --port, a - b, 1e-5', 'BP-213-1, 2031-03-04, L-1/-2, --port, a - b, 1e-5'],
  [
    '<input value="-4"><textarea>-4</textarea><code>-4</code>',
    '<input value="-4"><textarea>-4</textarea><code>-4</code>',
  ],
])('shows negative numbers with the minus sign, and nothing else: %s', (html, shown) => {
  expect(minusSigns(html)).toBe(shown);
});

it('lets words of pictures be selected, but for those above what they lead to', () => {
  const css = fs.readFileSync(path.join(PAGE_TEMPLATES, 'assets', 'pages.css'), 'utf8');
  const untouched = [...css.matchAll(/([^{}]+)\{[^}]*pointer-events: none/g)].map(([, of]) =>
    of!.trim().split('\n').at(-1),
  );
  expect(untouched).toEqual(['svg[role="group"] text']);
  const label = {
    kind: 'text',
    x: 1,
    y: 1,
    size: 8,
    fill: INK,
    text: 'L-1',
    anchor: 'start',
    bold: false,
    turned: false,
  } as const;
  const spot = { kind: 'circle', x: 1, y: 1, r: 2, fill: INK } as const;
  const link = { to: '/lots/L-1', label: 'L-1', x: 1, y: 1, stops: true };
  const drawn = (...marks: Mark[]) => toSvg({ width: 9, height: 9, marks }, { title: 't', description: 'd', id: 'i' });
  expect(drawn(spot, label)).toContain('role="img"');
  expect(drawn({ ...spot, link }, label)).toContain('role="group"');
});

it('takes its colours from the palette of the charts', () => {
  const css = fs.readFileSync(path.join(PAGE_TEMPLATES, 'assets', 'pages.css'), 'utf8');
  const value = (name: string) => new RegExp(`--${name}: (#[0-9a-f]{6});`).exec(css)?.[1];
  expect({
    ink: value('ink'),
    muted: value('muted'),
    rule: value('rule'),
    paper: value('paper'),
    accent: value('accent'),
    accentLight: value('accent-light'),
    specification: value('specification'),
    attention: value('attention'),
    attentionLight: value('attention-light'),
    undecided: value('undecided'),
    undecidedLight: value('undecided-light'),
    calmLight: value('calm-light'),
  }).toEqual({
    ink: INK,
    muted: palette.MUTED,
    rule: palette.RULE,
    paper: palette.PAPER,
    accent: palette.DATA,
    accentLight: palette.DATA_LIGHT,
    specification: palette.SPECIFICATION,
    attention: palette.ATTENTION,
    attentionLight: palette.ATTENTION_LIGHT,
    undecided: palette.UNDECIDED,
    undecidedLight: palette.UNDECIDED_LIGHT,
    calmLight: palette.CALM_LIGHT,
  });
});

it('escapes everything that templates print but charts and the page body (ASVS 5.3.3)', () => {
  const files = fs
    .readdirSync(PAGE_TEMPLATES, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.eta'));
  expect(files.length).toBeGreaterThan(15);
  const raw = files.flatMap((name) =>
    [...fs.readFileSync(path.join(PAGE_TEMPLATES, name), 'utf8').matchAll(/<%~\s*([^%]*?)\s*%>/g)].map(
      (match) => match[1]!,
    ),
  );
  expect([...new Set(raw.filter((code) => !code.startsWith('include(')))]).toEqual(
    expect.arrayContaining(['it.body', 'it.figure.svg']),
  );
  expect(raw.filter((code) => !code.startsWith('include(') && code !== 'it.body' && code !== 'it.figure.svg')).toEqual(
    [],
  );
});
