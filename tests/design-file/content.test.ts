import { contentOf, DesignContent, factsIn, foundIn } from '../../src/design-file/paper/content.js';
import { DesignIndex } from '../../src/design-history/design-index.js';
import { findGaps } from '../../src/design-history/find-gaps.js';
import { canonicalJson, digestOf } from '../../src/dossier/canonical.js';
import { kindNamed } from '../../src/kinds/catalogue.js';
import { SIMULATION } from '../../src/kinds/degradation/simulation.js';
import { factsOf, wholeHistory } from '../support/whole-history.js';

it('carries all that rules look at, with the seed of losses and how coupons were made', () => {
  const history = wholeHistory();
  const body = kindNamed('exposure')!.schema.parse({
    ...{ kind: 'exposure', format: 1, specimen: 'L-1-W1', specimenIs: 'coupon', exposure: '1', face: 'peened' },
    ...{ zoneClass: 'load-bearing', medium: { medium: 'SBF', revision: 1 }, batch: 'SBF-31-01' },
    ...{ protocol: { method: 'TM-D', revision: 1 }, from: '2031-02-05T08:00:00Z', temperatureC: '37.0' },
    ...{ pH: { start: '7.40' }, volumeMl: '150', areaCm2: '5', instruments: ['I-MIC'], analyst: 'P-AN' },
  });
  const made = {
    ...{ machine: 'M-1', closedAt: '2031-02-01T08:00:00Z', recipeGroup: 'g' },
    ...{ position: 'P1', orientation: null },
  };
  const exposures = [{ key: 'L-1-W1::1', revision: 1, digest: digestOf(body), body: body as never }];
  const parts = [
    { part: 'L-1-I1', build: 'B-1', study: null, made: null },
    { part: 'L-1-W1', build: 'B-1', study: { study: 'EQ', revision: 1 }, made },
  ];
  history.lots.set('L-1', { ...history.lots.get('L-1')!, exposed: { exposures, parts } });
  const facts = {
    ...factsOf(history),
    simulation: { ...SIMULATION, seed: [1, 2, 3, 4] as [number, number, number, number] },
  };
  const design = new DesignIndex(facts);
  const head = { entries: 1, root: '0'.repeat(64) };
  const content = contentOf(design, foundIn(design, findGaps(facts, design)), head, [], []);
  const read = factsIn(DesignContent.parse(JSON.parse(canonicalJson(content))));
  const byName = (a: { kind: string; key: string }, b: { kind: string; key: string }) =>
    `${a.kind} ${a.key}` < `${b.kind} ${b.key}` ? -1 : 1;
  expect({ ...read, revisions: [...read.revisions].sort(byName) }).toEqual({
    ...facts,
    revisions: [...facts.revisions].sort(byName),
  });
});
