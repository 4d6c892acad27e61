import { Effect, Outcome, Verdict } from '../../src/assessment/assessment.js';
import { LogFinding } from '../../src/dossier/schema.js';
import { Meaning, Role, Statement } from '../../src/dossier/statement.js';
import { ALL_KINDS } from '../../src/kinds/catalogue.js';
import { LegalRoute, MaterialCategory, RecipeStep, Side, StepAfterBuild } from '../../src/kinds/fields.js';
import { Instrument } from '../../src/kinds/instrument.js';
import { UPKEEP } from '../../src/kinds/machine.js';
import { PowderState } from '../../src/kinds/powder-state.js';
import { Receipt } from '../../src/kinds/receipt.js';
import { Characteristic } from '../../src/kinds/specification.js';
import { TIES } from '../../src/kinds/ties.js';
import { ENTRY_TYPES } from '../../src/ledger/entry.js';
import { Event } from '../../src/ledger/event.js';
import { ACTS } from '../../src/people/acts.js';
import { ACT_WORDS, actNameText } from '../../src/report/phrases/acts.js';
import * as codes from '../../src/report/phrases/codes.js';
import * as kinds from '../../src/report/phrases/kinds.js';
import { TIES_IN_WORDS, tieText } from '../../src/report/phrases/ties.js';
import * as trade from '../../src/report/phrases/trade-codes.js';
import { ENTRY_ACTS, EVENT_ACTS } from '../../src/report/phrases/trail-acts.js';

type Table = Readonly<Record<string, string>>;
type Row = [what: string, table: Table, options: readonly string[], text?: (code: string) => string];

/** The codes are those of the schemas, so that a new one fails here until it has words. */
it.each<Row>([
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
  ['kinds', kinds.KINDS_IN_WORDS, ALL_KINDS.map(({ kind }) => kind), kinds.kindText],
  ['acts', ACT_WORDS, ACTS.map(({ act }) => act), actNameText],
  ['types of entries', ENTRY_ACTS, ENTRY_TYPES],
  ['types of events', EVENT_ACTS, Event.options.map(({ shape }) => shape.type.value)],
  ['ties', TIES_IN_WORDS, Object.keys(TIES), tieText],
  ['steps', trade.STEPS, [...RecipeStep.options, ...StepAfterBuild.options], trade.stepText],
  ['operations on powder', trade.POWDER_OPERATIONS, PowderState.shape.operation.options, trade.powderOperationText],
  ['states of a receipt', trade.RECEIPT_STATUSES, Receipt.shape.status.options, trade.receiptStatusText],
  ['uses of powder', trade.POWDER_USE, Receipt.shape.state.unwrap().options, trade.powderUseText],
  ['categories of material', trade.MATERIAL_CATEGORIES, MaterialCategory.options, trade.materialCategoryText],
  [
    'states of an instrument',
    trade.TOLERANCES,
    Instrument.shape.calibrations.unwrap().element.shape.asFound.options,
    trade.toleranceText,
  ],
  ['tests of a machine', trade.UPKEEP_WORDS, UPKEEP, trade.upkeepText],
  ['times of tests', trade.TESTS_DUE, Characteristic.shape.due.options, trade.testDueText],
  ['kinds of specimens', trade.MEASURED_ON, Characteristic.shape.measuredOn.options, trade.measuredOnWord],
  ['sides', trade.SIDES, Side.options, trade.sideText],
  ['routes', trade.ROUTES, LegalRoute.options, trade.routeText],
])('each of the %s has words, and one of another version is shown as it is', (_what, table, options, text) => {
  expect(Object.keys(table).sort()).toEqual([...options].sort());
  for (const [code, words] of Object.entries(table)) {
    expect(words).not.toBe('');
    if (text) expect(text(code)).toBe(words);
  }
  if (text) expect([text('of a later version'), text('constructor')]).toEqual(['of a later version', 'constructor']);
});

it('whatever people sign or act on has words', () => {
  const known: Table = { ...kinds.KINDS_IN_WORDS, ...kinds.THINGS_IN_WORDS };
  expect(ACTS.flatMap((act) => act.kinds).filter((kind) => !Object.hasOwn(known, kind))).toEqual([]);
});

it.each([
  ['make account', 'make an account'],
  ['give role case designer', 'give the role case designer'],
  ['end deputy as releaser', 'end a deputy as releaser'],
  ['an act of a later version', 'an act of a later version'],
])('an act on accounts, %s, has words', (act, words) => {
  expect(actNameText(act)).toBe(words);
});

it('the audit trail names what an entry is about in words', () => {
  const subject = { kind: 'result-set', key: 'A:1', revision: 2, others: 3 };
  expect(kinds.trailSubjectText(subject)).toBe('result sheet A:1 and 3 more, revision 2');
  expect(kinds.trailSubjectText({ kind: 'folder', key: 'data', revision: null })).toBe(
    'data folder of this installation',
  );
});

it('the approval of a document that a file is evidence of is named in words', () => {
  expect(trade.fileUseText('approval of process-validation PV-1')).toBe('approval of process validation PV-1');
  expect(trade.fileUseText('log')).toBe('process log');
});
