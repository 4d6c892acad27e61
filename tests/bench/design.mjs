import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { monitorEventLoopDelay, performance } from 'node:perf_hooks';
import { fileURLToPath } from 'node:url';
import { DesignAnswers } from '../../dist/design-file/design-answers.js';
import { DesignFiles } from '../../dist/design-file/design-files.js';
import { contentOf, foundIn } from '../../dist/design-file/paper/content.js';
import { settingsOfClass } from '../../dist/design-history/axes.js';
import { DesignIndex, linksOf } from '../../dist/design-history/design-index.js';
import { findGaps } from '../../dist/design-history/find-gaps.js';
import { shownSettings } from '../../dist/design-history/shown-settings.js';
import { standBeside } from '../../dist/design-history/standing-place.js';
import { canonicalJson, digestOf } from '../../dist/dossier/canonical.js';
import { kindNamed } from '../../dist/kinds/catalogue.js';
import { SIMULATION } from '../../dist/kinds/degradation/simulation.js';
import { DataFolder } from '../../dist/store/data-folder.js';
import { Store } from '../../dist/store/store.js';

const FAMILY = 'BENCH';
const RUNS = 5;
const MEDIAN_OF = 3;
const RENDERER = fileURLToPath(new URL('../support/bench-design-rendering.mjs', import.meta.url));
const HEAD = { entries: 1, root: 'a1'.repeat(32) };
/** Entries of each kind: 5 000 in all, with four ties each. */
const LARGE = {
  'user-need': 500,
  'design-input': 1500,
  'design-output': 1500,
  'design-study': 1000,
  hazard: 250,
  'risk-control': 250,
};
const LINKS = 20_000;
/** About 200 pages of documents, matrix and gaps. */
const PAGES_FROM = {
  'user-need': 38,
  'design-input': 112,
  'design-output': 112,
  'design-study': 98,
  hazard: 30,
  'risk-control': 30,
};
const LEAST_PAGES = 200;
const FAMILY_BODY = {
  ...{ kind: 'family', format: 1, family: FAMILY, revision: 1, title: 'invented', alloy: 'Mg-Zn-Ca' },
  ...{
    intendedUse: 'invented',
    route: 'custom-made',
    sterile: 'non-sterile',
    lifetime: { years: 5, basis: 'invented' },
  },
  effectiveFrom: '2020-01-10T00:00:00+01:00',
};
const LOTS = 500;
const PRIMES = [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37];
const SETTINGS = PRIMES.length;

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

/** The gap list of a large design, and the file of one of 200 pages with what it attaches. */
export async function run() {
  const rendered = Array.from({ length: MEDIAN_OF }, () => rendering(facts(PAGES_FROM, 3)));
  const [{ pages }] = rendered;
  if (pages < LEAST_PAGES) throw new Error(`the file has ${pages} pages`);
  const large = facts(LARGE, 4);
  const links = large.revisions.reduce((sum, one) => sum + linksOf(one).length, 0);
  if (large.revisions.length !== 5000 || links < LINKS)
    throw new Error(`${large.revisions.length} entries, ${links} links`);
  return [
    ...(await askedOfStore(large)),
    { name: 'ranges over 500 lots and 12 settings', figure: rangesSeconds() },
    {
      ...{ name: 'file of a design of 200 pages', of: `${pages} pages` },
      figure: median(rendered.map(({ seconds }) => seconds)),
    },
    {
      ...{ name: 'file of a design of 200 pages, most memory', of: `${pages} pages` },
      figure: Math.max(...rendered.map(({ megabytes }) => megabytes)),
    },
  ];
}

/**
 * The gap list as a service gives it: read from the folder and walked in the worker, now and as of an earlier moment, and how
 * long others wait meanwhile. The first question starts the thread.
 */
async function askedOfStore({ revisions }) {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-design-'));
  const store = await Store.open(DataFolder.open(path.join(folder, 'data')));
  try {
    store.becomeService();
    const family = { kind: 'family', key: FAMILY, name: FAMILY, body: FAMILY_BODY, links: [] };
    await store.change('bench', async (change) => {
      for (const one of [family, ...revisions]) {
        const links = linksOf(one).map(({ name, kind, key, revision }) => ({ name, to: { kind, key }, revision }));
        await change.entries.add({ ...one, links, number: 1 });
      }
    });
    const then = {
      size: await store.read.ledger.size(),
      moment: Date.now(),
      day: new Date().toISOString().slice(0, 10),
    };
    const [need] = revisions;
    await store.change('bench', (change) =>
      change.entries.add({ ...need, body: { ...need.body, revision: 2 }, links: [], number: 2 }),
    );
    const answers = new DesignAnswers(store, new DesignFiles(store));
    const secondsOf = async (asOf) => {
      const begun = performance.now();
      const { gaps } = await answers.ask('openGaps', { family: FAMILY, asOf });
      if (gaps.length === 0) throw new Error('no gap was found');
      return (performance.now() - begun) / 1000;
    };
    await secondsOf(undefined);
    const [now, past] = [[], []];
    const delay = monitorEventLoopDelay({ resolution: 1 });
    delay.enable();
    for (let run = 0; run < RUNS; run++) {
      now.push(await secondsOf(undefined));
      past.push(await secondsOf(then));
    }
    delay.disable();
    return [
      { name: 'gap list of a design of 5 000 entries and 20 000 links', figure: median(now) },
      { name: 'the same gap list as of an earlier moment', figure: median(past) / median(now) },
      { name: 'event loop while such a gap list is made, 99th percentile', figure: delay.percentile(99) / 1e6 },
    ];
  } finally {
    await store.close();
    fs.rmSync(folder, { recursive: true, force: true });
  }
}

/** Every lot by settings of its own, each of them varied, and a case in the middle of them: the largest hull there is. */
function rangesSeconds() {
  const range = (count) => Array.from({ length: count }, (_, index) => index);
  // As the steps of a low-discrepancy sequence: the same in every run.
  const setAt = (lot, setting) => String(100 + Math.round(1000 * ((lot * Math.sqrt(PRIMES[setting])) % 1)) / 10);
  const zonesOf = (value) => [
    {
      ...{ zone: 'span', title: 'span', class: 'load-bearing', layers: { from: 1, to: 9 } },
      steps: [
        {
          ...{ step: 'deposit', everyLayers: 1, windows: [] },
          parameters: range(SETTINGS).map((setting) => ({ parameter: `p${setting}`, set: value(setting), ucum: 'W' })),
        },
      ],
    },
  ];
  const recipes = range(LOTS).map((lot) => ({
    ...{ recipe: `R-${lot}`, revision: 1, body: { zones: zonesOf((setting) => setAt(lot + 1, setting)) } },
  }));
  const values = recipes.flatMap(({ recipe }) =>
    ['rm', 'rate', 'stress'].map((characteristic) => {
      const context = { machine: 'M', recipe, recipeRevision: 1, recipeGroup: 'g', method: 'T', methodRevision: 1 };
      const whole = { ...context, ucum: 'MPa', zoneClass: 'load-bearing' };
      const summed = { n: 3, mean: 230, sumSquaredDeviations: 2, min: 229, max: 231 };
      return { characteristic, context: whole, text: canonicalJson(whole), ...summed };
    }),
  );
  const { stated } = settingsOfClass({ zones: zonesOf(() => '150') }, 'load-bearing');
  const seconds = [];
  for (let run = 0; run < RUNS; run++) {
    const begun = performance.now();
    const { settings } = shownSettings(values, recipes, []);
    const { outcome, place } = standBeside(settings, stated);
    if (place.points !== LOTS || place.dimension !== SETTINGS || outcome !== 'inside') throw new Error(outcome);
    seconds.push((performance.now() - begun) / 1000);
  }
  return median(seconds);
}

/** Renders in a process of its own, which has nothing but what it is given: as a worker does, and as records are measured. */
function rendering(found) {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-design-'));
  const [given, drawn] = [path.join(folder, 'design.json'), path.join(folder, 'design.pdf')];
  try {
    const design = new DesignIndex(found);
    const content = contentOf(design, foundIn(design, findGaps(found, design)), HEAD, [], []);
    fs.writeFileSync(given, canonicalJson(content));
    const child = spawnSync(process.execPath, [RENDERER, given, drawn], { encoding: 'utf8' });
    if (child.status !== 0) throw new Error(`rendering failed:\n${child.stderr}`);
    return { ...JSON.parse(child.stdout), pages: pagesOf(fs.readFileSync(drawn)) };
  } finally {
    fs.rmSync(folder, { recursive: true });
  }
}

const pagesOf = (pdf) => pdf.toString('latin1').match(/\/Type \/Page\n/g).length;

function facts(counts, ties) {
  const at = (kind, index) => `${kind}-${index % counts[kind]}`;
  const some = (kind, index, build) =>
    [...new Set(Array.from({ length: ties - 1 }, (_, tie) => at(kind, index * 7 + tie)))].map((key) => build(key));
  const bodies = {
    'user-need': () => ({ text: 'what is needed (invented)', source: 'bench' }),
    'design-input': (index) => ({
      ...{ text: 'what it has to do (invented)', source: 'bench' },
      meets: some('user-need', index, (need) => ({ need, revision: 1 })),
    }),
    'design-output': (index) => ({
      ...{ what: { kind: 'specification', key: `SP-${index}`, revision: 1 }, essential: 'no' },
      meets: some('design-input', index, (input) => ({ input, revision: 1 })),
    }),
    'design-study': (index) => ({
      ...{
        purpose: 'verification',
        technique: 'each value',
        n: 1,
        sterilised: 'yes',
        deviations: 'none',
        result: 'open',
      },
      protocol: { number: 'P', revision: 1, approvedAt: '2030-01-01T08:00:00Z' },
      criterion: { characteristic: 'rm', claim: 'at least', value: '215', ucum: 'MPa' },
      ...{ rationale: 'why so many (invented)', from: '2031-01-01', to: '2031-01-02' },
      verifies: some('design-output', index, (output) => ({ output, revision: 1 })),
      validates: some('user-need', index, (need) => ({ need, revision: 1 })),
    }),
    hazard: () => ({ situation: 'invented', harm: 'invented', severity: 'S1', probability: { before: 'P1' } }),
    'risk-control': (index) => ({
      ...{ by: 'design', text: 'invented', controls: [{ hazard: at('hazard', index), revision: 1 }] },
      verifiedBy: some('design-study', index, (designStudy) => ({ designStudy, revision: 1 })),
    }),
  };
  const codeField = {
    'user-need': 'need',
    'design-input': 'input',
    'design-output': 'output',
    'design-study': 'designStudy',
    hazard: 'hazard',
    'risk-control': 'control',
  };
  const revisions = Object.entries(counts).flatMap(([kind, count]) =>
    Array.from({ length: count }, (_, index) => {
      const key = at(kind, index);
      const given = { kind, format: 1, [codeField[kind]]: key, revision: 1, title: `${kind} ${index}`, family: FAMILY };
      const body = kindNamed(kind).schema.parse({ ...given, ...bodies[kind](index) });
      const standing = { authors: ['P-1'], approvedBy: 'P-2', approvedAt: '2031-01-03T08:00:00Z', withdrawn: false };
      return {
        kind,
        key,
        revision: 1,
        name: given.title,
        digest: digestOf(body),
        recordedAt: '2031-01-01T08:00:00Z',
        body,
        ...standing,
      };
    }),
  );
  const none = { statements: [], lots: new Map(), lotOfPart: new Map() };
  return { family: FAMILY, today: '2031-03-05', revisions, ...none, simulation: SIMULATION };
}
