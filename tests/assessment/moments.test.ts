import { assess } from '../../src/assessment/assess.js';
import type { Moment } from '../../src/assessment/moment.js';
import { answerFor } from '../../src/assessment/moments.js';
import type { Facts } from '../../src/dossier/facts.js';
import { reasonsInWords } from '../../src/report/assessment-words.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { signedFacts } from '../support/signed-facts.js';

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf();
});

function answer(moment: Moment, change: (copy: Editable) => void) {
  const lot = signedFacts(edited(facts, change));
  return answerFor(lot, assess(lot, 'test'), moment);
}

/** A lot before its chamber closes: no log, no value. */
const planned = ({ lot, results, logParts }: Editable) => {
  lot.body.builds[0].state = 'planned';
  results.splice(0);
  logParts.clear();
};

it('answers "may we build?" before there is any log or value', () => {
  const { units, releasable, checks } = answer('build', planned);
  expect(units.map((unit) => [unit.verdict, unit.why])).toEqual([
    ['conforms', []],
    ['conforms', []],
  ]);
  expect(releasable).toEqual(['L-1-I1', 'L-1-I2']);
  expect(new Set(checks.map((check) => check.moment))).toEqual(new Set(['build']));
});

it('holds the build back for what is known by then: an operator who is not trained, a coupon without a study', () => {
  const { units, releasable, why } = answer('build', (copy) => {
    planned(copy);
    copy.people.get('P-OP').body.qualifications = [];
    delete copy.lot.body.coupons[1].study;
  });
  expect(units.map((unit) => unit.verdict)).toEqual(['cannot be decided', 'cannot be decided']);
  expect(releasable).toEqual([]);
  expect(why['L-1-I2']!.map((reason) => reason.check).sort()).toEqual(['coupons-planned', 'operators-qualified']);
});

it('asks for values before sterilisation only where they are due by then', () => {
  const without = ({ results }: Editable) => results.splice(0);
  expect(answer('sterilisation', without).releasable).toHaveLength(2);
  const due = answer('sterilisation', (copy) => {
    copy.specification.body.characteristics[1].due = 'before-sterilisation';
    without(copy);
  });
  expect(due.units.map((unit) => unit.verdict)).toEqual(['cannot be decided', 'cannot be decided']);
  expect(reasonsInWords(due.checks, due.units[0]!.why).map(({ says }) => says)).toEqual([
    'Plate thickness of L-1-I1: 0 of 1 planned values are there.',
  ]);
});

it('does not let a build that is only planned be sterilised', () => {
  const { why, checks } = answer('sterilisation', planned);
  expect(reasonsInWords(checks, why['L-1-I1']!).map((reason) => reason.says)).toContain(
    'Build M1-101 is only planned.',
  );
});

it('says at release what the assessment says', () => {
  const lot = signedFacts(facts);
  const assessment = assess(lot, 'test');
  const { units, releasable, checks } = answerFor(lot, assessment, 'release');
  expect({ units, releasable, checks }).toEqual({
    units: assessment.units,
    releasable: assessment.releasable,
    checks: assessment.checks,
  });
});
