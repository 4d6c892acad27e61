import { Effect, Outcome, Verdict } from '../../src/assessment/assessment.js';
import { LogFinding } from '../../src/dossier/schema.js';
import { Meaning, Role, Statement } from '../../src/dossier/statement.js';
import * as codes from '../../src/report/phrases/codes.js';

it.each<[string, Readonly<Record<string, string>>, readonly string[], (code: string) => string]>([
  ['verdicts', codes.VERDICTS, Verdict.options, codes.verdictText],
  ['outcomes of a check', codes.CHECK_OUTCOMES, Outcome.options, codes.checkOutcomeText],
  ['effects', codes.EFFECTS, Effect.options, codes.effectText],
  ['levels', codes.LEVELS, LogFinding.shape.level.options, codes.levelText],
  ['meanings', codes.MEANINGS_IN_WORDS, Meaning.options, codes.meaningText],
  [
    'outcomes of a decision',
    codes.DECISION_OUTCOMES,
    Statement.shape.outcome.unwrap().options,
    codes.decisionOutcomeText,
  ],
  ['roles', codes.ROLES, Role.options, codes.roleText],
])('each of the %s has words, and one of another version is shown as it is', (_what, table, options, text) => {
  expect(Object.keys(table).sort()).toEqual([...options].sort());
  for (const code of options) expect(text(code)).toBe(table[code]);
  expect(text('of a later version')).toBe('of a later version');
  expect(text('constructor')).toBe('constructor');
});
