import type { RecordIdentity } from '../../src/pdf/identity.js';
import type { RecordPage } from '../../src/pdf/page.js';
import { textMetric } from '../../src/pdf/shaping.js';
import { channelPlot } from '../../src/report/charts/channel-plot.js';
import { genealogy } from '../../src/report/charts/genealogy.js';
import { histogram } from '../../src/report/charts/histogram.js';
import { lotsOverTime } from '../../src/report/charts/lots-over-time.js';
import { timeline } from '../../src/report/charts/timeline.js';
import { zoneMap } from '../../src/report/charts/zone-map.js';
import { PAGE_WORDS } from '../../src/report/phrases/page-words.js';

/** Invented from end to end: it has one of everything that the record can draw. */
export const SAMPLE_IDENTITY: RecordIdentity = {
  number: 'LR-2031-004',
  revision: '2',
  title: 'Lot record LR-2031-004 <draft> & "example"',
  subject: 'Lot L-2031-004 of the invented family Plate 24',
  author: 'Example Implants & Sons',
  digest: '9f2c4d1be07a5533c8a1d6f0b27e49a2c05d8b16e3f7714a902bd6c85e1f3a70',
  printedAt: new Date('2031-05-04T10:00:00Z'),
  program: 'lotwright 0.1.0',
  state: 'draft',
  words: PAGE_WORDS,
};

/** Values between −1 and 1 that look random and never change. */
export function wobble(index: number): number {
  return Math.sin(index * 12.9898) * Math.cos(index * 4.1414 + 1);
}

export const SAMPLE_VALUES = Array.from({ length: 36 }, (_, index) => round(3.5 + 0.03 * wobble(index + 3)));

function round(value: number): number {
  return Math.round(value * 1000) / 1000;
}

/** Four values a lot, a lot each eleven days, the last one soon after the one before it. */
export function sampleLotsOverTime() {
  const points = SAMPLE_VALUES.map((value, index) => {
    const lot = Math.floor(index / 4);
    const day = lot === 8 ? 79 : 11 * lot;
    const at = new Date(Date.UTC(2031, 0, 10 + day, 8)).toISOString();
    const point = { lot: `L-2031-${String(lot + 1).padStart(3, '0')}`, at, name: `26-${index + 1}` };
    if (index === 17) return { ...point, value: 3.581, flag: 'beyond upper limit' };
    if (index === 18) return { ...point, value: 3.574, flag: 'two of three far from the centre' };
    return index === 30 ? { ...point, value, flag: 'nine on one side' } : { ...point, value };
  });
  return lotsOverTime(
    {
      title: 'Plate thickness, lots over time',
      valueLabel: 'Thickness /mm',
      points,
      own: 'L-2031-009',
      centre: 3.5012,
      lowerLimit: 3.446,
      upperLimit: 3.5564,
      lowerSpecification: 3.4,
      upperSpecification: 3.6,
      target: 3.5,
      changes: [{ before: 20, label: 'after new nozzle' }],
      decimals: 3,
    },
    textMetric,
  );
}

export function sampleHistogram() {
  return histogram(
    {
      title: 'Plate thickness against specification',
      valueLabel: 'Thickness /mm',
      values: SAMPLE_VALUES,
      lower: 3.4,
      upper: 3.6,
      target: 3.5,
      normal: { mean: 3.5, sd: 0.016 },
      decimals: 2,
    },
    textMetric,
  );
}

export function sampleChannelPlot() {
  const outline = Array.from({ length: 400 }, (_, index) => {
    const fromH = index * 0.02;
    const peak = index >= 250 && index < 262 ? 420 : 0;
    const base = 60 + 18 * wobble(index) + peak;
    return { fromH, toH: fromH + 0.02, min: base - 9, max: base + 14 };
  }).filter((stretch) => stretch.fromH < 6.4 || stretch.fromH > 6.7);
  return channelPlot(
    {
      title: 'Oxygen in the chamber',
      valueLabel: 'Oxygen /ppm',
      timeLabel: 'Hours since the chamber was closed',
      outline,
      windows: [
        { fromH: 0, toH: 8, level: 'alert', upper: 100 },
        { fromH: 0, toH: 8, level: 'action', upper: 200 },
        { fromH: 0, toH: 8, level: 'reject', upper: 400 },
      ],
      excursions: [{ fromH: 5, toH: 5.24, level: 'reject', words: 'above 400 ppm while peening, layers 61 to 63' }],
      gaps: [{ fromH: 6.42, toH: 6.7 }],
    },
    textMetric,
  );
}

export function sampleTimeline() {
  const every = (offset: number, length: number) =>
    Array.from({ length: 24 }, (_, index) => ({ fromH: index / 3 + offset, toH: index / 3 + offset + length }));
  return timeline(
    {
      title: 'Build B-2031-017 by step',
      timeLabel: 'Hours since the chamber was closed',
      lanes: [
        { label: 'deposit', spans: every(0, 0.18) },
        { label: 'peen', spans: every(0.18, 0.08) },
        { label: 'mill', spans: every(0.26, 0.06) },
      ],
      findings: [
        { fromH: 5, toH: 5.24, lane: 'peen', level: 'reject', words: 'oxygen above 400 ppm' },
        { fromH: 6.42, toH: 6.7, level: 'action', words: 'no values of oxygen' },
        { fromH: 1.2, toH: 1.25, lane: 'deposit', level: 'alert', words: 'laser power below 380 W for 3 s' },
      ],
    },
    textMetric,
  );
}

export function sampleGenealogy() {
  return genealogy(
    {
      title: 'What went into lot L-2031-004',
      continued: 'What went into lot L-2031-004, continued',
      nodes: [
        { id: 'h1', title: 'Heat Q7-118', lines: ['magnesium alloy powder, 24 kg'] },
        { id: 'h2', title: 'Heat Q7-131', lines: ['certificate incomplete'], attention: true },
        { id: 'p1', title: 'Powder P-31', lines: ['virgin blend, 40 kg'] },
        { id: 'p2', title: 'Powder P-34', lines: ['topped up, used twice'] },
        { id: 'g', title: 'Argon A-5521', lines: ['gas, grade 5.0'] },
        { id: 'b', title: 'Build B-2031-017', lines: ['3 implants, 2 coupons'] },
        { id: 'l', title: 'Lot L-2031-004', lines: ['3 implants'] },
      ],
      edges: [
        { from: 'h1', to: 'p1' },
        { from: 'h2', to: 'p1' },
        { from: 'p1', to: 'p2', label: '20 kg' },
        { from: 'h2', to: 'p2' },
        { from: 'p2', to: 'b', label: '240 g' },
        { from: 'g', to: 'b' },
        { from: 'b', to: 'l' },
      ],
    },
    textMetric,
  )[0]!;
}

export function sampleZoneMap() {
  const zone = (label: string) => ({ label, fromLayer: 1, toLayer: 120, spans: [] });
  return zoneMap(
    {
      title: 'Implants by zone and layer',
      units: [
        { serial: '26-031', verdict: 'conforms', zones: [zone('plate body'), zone('screw seats')] },
        {
          serial: '26-032',
          verdict: 'does not conform',
          zones: [
            zone('plate body'),
            {
              ...zone('screw seats'),
              spans: [{ fromLayer: 61, toLayer: 63, verdict: 'does not conform', words: 'oxygen above reject level' }],
            },
          ],
        },
        {
          serial: '26-033',
          verdict: 'cannot be decided',
          zones: [
            {
              ...zone('plate body'),
              spans: [{ fromLayer: 70, toLayer: 81, verdict: 'cannot be decided', words: 'no oxygen values' }],
            },
            zone('screw seats'),
          ],
        },
      ],
    },
    textMetric,
  );
}

/** Strings that try to break out of where they stand. */
export const HOSTILE = [
  'ET Q (Tj) >> endobj \\) << /S /JavaScript >>',
  '<script>alert("x")</script> & <b>bold</b>',
  'bell \u0007, null \u0000, escape \u001b[31m, turned \u202egnp.exe',
  'right to left: שלום 12 אב and العربية 345 نص',
  `unbroken ${'0123456789abcdef'.repeat(20)}`,
  '1e308 −123456789012345678901234567890.000000000001',
  'cafe\u0301 q\u0301 Žluťoučký ⌀ 12 ⚠ ∅ ₚ',
];

export function drawSample(page: RecordPage): void {
  page.title('Lot record LR-2031-004', 'Plate 24, magnesium alloy · revision 2 · draft, nothing is released');
  page.table({
    caption: 'Decision per implant',
    columns: [{ head: 'Implant' }, { head: 'Proposed' }, { head: 'Why' }],
    rows: [
      ['26-031', '✓ conforms', 'every planned characteristic within its limits'],
      {
        cells: [
          '26-032',
          '✗ does not conform',
          ['oxygen above reject level, ', { text: 'finding 1', to: 'finding 1' }],
        ],
        attention: true,
      },
      { cells: ['26-033', '? cannot be decided', 'no oxygen values for 17 minutes'], attention: true },
    ],
  });
  page.callout({
    kind: 'exception',
    title: 'Exceptions',
    items: [
      ['Excursions: 1, ', { text: `page ${page.pageOf('finding 1')}`, to: 'finding 1' }],
      'Nonconformities: none',
      'Late entries: none',
    ],
  });
  page.facts([
    ['Family', 'Plate 24'],
    ['Recipe', 'R-12 revision 3'],
    ['Digest of the dossier', [{ text: SAMPLE_IDENTITY.digest, style: 'mono' }]],
    ['How to verify', 'Run “lotwright verify” on this file. It agrees with itself when every step passes.'],
  ]);
  page.callout({
    kind: 'caution',
    title: 'Cautions',
    items: [
      'Record keeping and calculation aid only. Use in patients needs qualified clinical, quality and regulatory review.',
      'Magnesium powder, fines and chips are combustible and give hydrogen with moisture.',
    ],
  });
  page.callout({ kind: 'note', title: 'Claimed, not signed', items: ['The approval of the recipe stands in a file.'] });

  page.heading(1, 'Contents', { newPage: true, listed: false });
  page.contents();

  page.heading(1, 'Results against limits', { newPage: true, anchor: 'results' });
  page.paragraph(['Every value leads to its row; see ', { text: 'row 40', to: 'result 40' }, ' for the last one.']);
  page.table(sampleResults());
  page.heading(2, 'Statistics of the family');
  page.figure({
    scene: sampleLotsOverTime(),
    alt: 'Thickness of 36 implants in nine lots over time; three points are flagged.',
    caption: 'Lots of the family over time.',
  });
  page.figure({
    scene: sampleHistogram(),
    alt: 'Histogram of 36 thicknesses between 3.4 and 3.6 mm.',
    caption: 'The same values as counts, with the normal curve of their mean and standard deviation.',
  });

  page.heading(1, 'Build and log', { newPage: true });
  page.anchor('finding 1');
  page.figure({
    scene: sampleChannelPlot(),
    alt: 'Oxygen over 8 hours with one peak.',
    caption: 'Oxygen over the build.',
  });
  page.figure({ scene: sampleTimeline(), alt: 'Steps of the build over 8 hours.', caption: 'Steps and findings.' });
  page.figure({ scene: sampleZoneMap(), alt: 'Zones of three implants by layer.', caption: 'Zones and layers.' });
  page.heading(2, 'Material');
  page.figure({ scene: sampleGenealogy(), alt: 'Two heats, two powders, one build.', caption: 'Genealogy.' });

  page.heading(1, 'Hostile strings');
  page.list(HOSTILE);
  page.facts(HOSTILE.map((text, index) => [`Number ${index + 1} with a label that is itself rather long`, text]));
  page.table({
    caption: 'Cells that do not fit',
    columns: [{ head: 'Anunbrokenheadthatistoolongforitscolumn' }, { head: 'B', align: 'decimal' }, { head: 'C' }],
    rows: HOSTILE.map((text, index) => [text, `${10 ** (index * 4)}.5`, text]),
  });
  page.table({ caption: 'A table without rows', columns: [{ head: 'A' }], rows: [], empty: 'Nothing was recorded.' });
  page.heading(2, 'A cell taller than a page');
  page.table({
    caption: 'Tall',
    columns: [
      { head: 'Key', width: 1 },
      { head: 'Text', width: 4 },
    ],
    rows: [
      ['tall', 'lorem ipsum dolor sit amet '.repeat(450)],
      ['after', 'the row behind it'],
    ],
  });
  page.attach({
    name: 'dossier.json',
    bytes: Buffer.from('{"format":1}\n'),
    mediaType: 'application/json',
    relationship: 'Source',
    description: 'The facts of the lot',
  });
  page.attach({
    name: 'Results.csv',
    bytes: Buffer.from('specimen,value\n26-031,3.502\n'),
    mediaType: 'text/csv',
    relationship: 'Data',
    description: 'Results – as reported',
  });
}

function sampleResults() {
  const rows = Array.from({ length: 40 }, (_, index) => {
    const value = index % 9 === 4 ? '<0.3' : (index * 7.31 - 20).toFixed(index % 4);
    return {
      cells: [
        `26-${String(index + 1).padStart(3, '0')}/c`,
        'Tensile strength of the coupon',
        value,
        '180',
        index % 9 === 4 ? 'censored; cannot be decided' : '✓ conforms',
        [{ text: 'top', to: 'results' }],
      ],
      anchor: `result ${index + 1}`,
      attention: index % 9 === 4,
    };
  });
  return {
    caption: 'Results',
    columns: [
      { head: 'Specimen' },
      { head: 'Characteristic' },
      { head: 'Value', unit: 'MPa', align: 'decimal' as const },
      { head: 'At least', unit: 'MPa', align: 'right' as const },
      { head: 'Verdict' },
      { head: 'Source' },
    ],
    rows,
  };
}
