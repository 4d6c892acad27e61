import type { Facts } from '../../dossier/facts.js';
import { revisionKey } from '../../dossier/facts.js';
import { unqualified, type Work } from '../people.js';
import { currentResults, unitsOfSpecimen } from '../specimens.js';
import { allUnits, type Check } from './check.js';

function tests(facts: Facts): Work[] {
  return currentResults(facts).map((result) => ({
    person: result.analyst,
    operation:
      facts.methods.get(revisionKey(result.method, Number(result.methodRevision)))?.body.operation ?? result.method,
    at: result.measuredAt,
    what: 'test' as const,
    on: result.method,
    units: unitsOfSpecimen(facts, result.specimen),
  }));
}

function steps(facts: Facts): Work[] {
  const all = allUnits(facts);
  return facts.lot.body.steps.map(({ step, by, at, parts }) => ({
    person: by,
    operation: step,
    at,
    what: 'step' as const,
    on: step,
    units: parts === undefined ? all : all.filter((serial) => parts.includes(serial)),
  }));
}

export const testersQualified: Check = {
  code: 'testers-qualified',
  since: 1,
  clause: 'ISO 13485:2016 6.2, 7.5.1, 8.2.6',
  moment: 'release',
  run(facts) {
    const works = [...steps(facts), ...tests(facts)];
    const named = [...new Set(works.map(({ person, operation }) => `${person}: ${operation}`))].sort();
    return {
      findings: unqualified(facts, works),
      basis: { people: named.join('; ') },
      doesNotApply: works.length === 0,
    };
  },
};
