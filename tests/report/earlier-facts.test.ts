import { basisWords, claimWords, findingWords } from '../../src/report/assessment-words.js';
import { CHECK_PHRASES } from '../../src/report/phrases/checks/catalogue.js';
import { CLAIM_PHRASES } from '../../src/report/phrases/claims.js';
import { ifTold, NoWords, toldBy, wordsOf } from '../../src/report/phrases/phrase.js';

/* A stored assessment of an earlier version may know a rule by the same name, and tell other facts with it. */

const RULES = Object.entries(CHECK_PHRASES).flatMap(([check, { rules, otherRule }]) => [
  ...Object.keys(rules).map((rule) => [check, rule] as const),
  ...(otherRule ? ([[check, 'excursion']] as const) : []),
]);

it('a phrase that lacks its facts, or cannot read them, gives way to code and facts', () => {
  expect(RULES.length).toBeGreaterThan(50);
  for (const [check, rule] of RULES) {
    for (const facts of [{}, { weight: '3' }, { asked: '{', judged: '', logFinding: '{}', lots: '7' }]) {
      const { says, clearedBy } = findingWords(check, { rule, facts });
      expect(`${check} ${rule}: ${says} ${clearedBy}`).not.toMatch(/undefined|null|\[object/);
    }
  }
  expect(findingWords('acceptance', { rule: 'outside limits', facts: { weight: '3' } }).says).toBe(
    'outside limits: weight 3.',
  );
});

it('so do what a check looked at, and what an approval was given on', () => {
  for (const code of Object.keys(CHECK_PHRASES)) {
    expect(basisWords({ code, outcome: 'passes', basis: { weight: '3' } } as never)).not.toContain('undefined');
  }
  for (const what of Object.keys(CLAIM_PHRASES) as (keyof typeof CLAIM_PHRASES)[]) {
    expect(claimWords({ what, facts: { weight: '3' } })).not.toContain('undefined');
  }
  expect(claimWords({ what: 'result sheet', facts: { weight: '3' } })).toBe('result sheet: weight 3');
});

it('reading a fact that nobody told names it, and so does a code that no phrase knows', () => {
  const facts = toldBy<'lower' | 'upper'>({ lower: '215' });
  expect(facts.lower).toBe('215');
  expect(() => facts.upper).toThrow(new NoWords('a finding without the fact "upper"'));
  expect([ifTold(facts as never, 'lower'), ifTold(facts as never, 'upper')]).toEqual(['215', undefined]);
  expect(() => wordsOf({ method: 'measure' }, 'patience')).toThrow(new NoWords('the code "patience"'));
  expect(() => wordsOf({ method: 'measure' }, 'toString')).toThrow(NoWords);
});

it('a code of another version inside a fact gives way too, though every fact is told', () => {
  const judged = JSON.stringify({ why: { code: 'by the stars', facts: {} }, compared: '1' });
  const asked = JSON.stringify({ title: 'Thickness', ucum: 'mm' });
  const facts = { asked, judged, specimen: 'W1', piece: '', replicate: '1', value: '1', lacks: 'patience' };
  expect(findingWords('values-accepted', { rule: 'not decidable', facts }).says).toMatch(/^not decidable: asked /);
});

it('a text that holds the word undefined is a text', () => {
  const { says } = findingWords('log-complete', { rule: 'no log', facts: { build: 'undefined-1' } });
  expect(says).toBe('Build undefined-1 has no process log.');
});

it('a mistake of a phrase is none of an earlier version: it is not hidden', () => {
  const rules = CHECK_PHRASES['log-complete'].rules as Record<string, unknown>;
  const { 'no log': phrase } = rules;
  rules['no log'] = () => {
    throw new TypeError('a mistake');
  };
  try {
    expect(() => findingWords('log-complete', { rule: 'no log', facts: { build: 'M1-1' } })).toThrow('a mistake');
  } finally {
    rules['no log'] = phrase;
  }
});
