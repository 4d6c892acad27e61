import { basisWords, claimWords, findingWords } from '../../src/report/assessment-words.js';
import { CHECK_PHRASES } from '../../src/report/phrases/checks/catalogue.js';
import { CLAIM_PHRASES } from '../../src/report/phrases/claims.js';

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
