import type { GapCode } from '../../src/design-history/gaps/gap-code.js';
import { digestOf } from '../../src/dossier/canonical.js';
import { kindNamed } from '../../src/kinds/catalogue.js';
import { type Draft, draftOf, type History } from '../support/whole-history.js';

const find = ({ drafts }: History, kind: string): Draft => [...drafts.values()].find(({ body }) => body.kind === kind)!;
const body = (history: History, kind: string) => find(history, kind).body;

function again(history: History, kind: string, revision: number): Draft {
  const next = structuredClone(find(history, kind));
  next.body.revision = revision;
  history.drafts.set(`${kind} again`, next);
  return next;
}

function another(
  history: History,
  kind: string,
  change: Record<string, unknown>,
  without: readonly string[] = [],
): void {
  const next = structuredClone(find(history, kind));
  Object.assign(next.body, change);
  for (const field of without) delete next.body[field];
  history.drafts.set(`another ${kind}`, next);
}

const OTHER_FAMILY = (alloy: string) => (history: History) => {
  another(history, 'family', { family: 'SCREW', alloy });
  history.lots.set('L-9', { family: 'SCREW', values: [] });
  body(history, 'design-study').lots = ['L-1', 'L-9'];
};

/** For each rule a way to spoil the whole history so that it finds one thing, and no other rule finds anything. */
export const PLANTED: Readonly<Record<GapCode, (history: History) => void>> = {
  'history-missing': (history) => {
    for (const [name, draft] of history.drafts) {
      if (/^(design-(?!envelope)|user-need|hazard|risk-control|labelling)/.test(draft.body.kind)) {
        history.drafts.delete(name);
      }
    }
  },
  'plan-missing': (history) => void history.drafts.delete('design-plan'),
  'stage-not-reviewed': (history) => body(history, 'design-plan').stages.push({ stage: 'transfer', due: '2031-02-01' }),
  'not-approved': (history) => {
    find(history, 'labelling-decision').approvedBy = null;
  },
  'need-without-input': (history) => {
    another(history, 'user-need', { need: 'UN-2' });
    body(history, 'design-study').validates.push({ need: 'UN-2', revision: 1 });
  },
  'need-not-validated': (history) => {
    another(history, 'user-need', { need: 'UN-2' });
    body(history, 'design-input').meets.push({ need: 'UN-2', revision: 1 });
  },
  'input-without-output': (history) => {
    another(history, 'design-input', { input: 'DI-2' });
    body(history, 'design-study').verifies.push({ input: 'DI-2', revision: 1 });
  },
  'input-not-verified': (history) => {
    another(history, 'design-input', { input: 'DI-2' });
    another(history, 'design-output', { output: 'DO-2', meets: [{ input: 'DI-2', revision: 1 }] });
  },
  'output-unasked': (history) => another(history, 'design-output', { output: 'DO-2' }, ['meets']),
  'characteristic-without-input': (history) => {
    const asked = body(history, 'design-input').characteristics;
    asked.splice(asked.indexOf('rm'), 1);
    if (asked.length === 0) asked.push('other');
  },
  'tie-superseded': (history) => {
    const next = again(history, 'user-need', 2);
    next.body.title = 'Holds, and is gone afterwards';
    body(history, 'design-study').validates[0].revision = 2;
  },
  'tie-to-nothing': (history) => {
    body(history, 'design-output').meets[0].revision = 7;
  },
  'study-superseded': (history) => {
    again(history, 'user-need', 2);
    body(history, 'design-input').meets[0].revision = 2;
  },
  'study-not-met': (history) => another(history, 'design-study', { designStudy: 'DS-2', result: 'not met' }),
  'protocol-after-data': (history) => {
    body(history, 'design-study').protocol.approvedAt = '2030-09-02T09:00:00+02:00';
  },
  'rationale-thin': (history) => {
    body(history, 'design-study').rationale = 'as always';
  },
  'study-without-evidence': (history) => {
    const study = body(history, 'design-study');
    delete study.report.file;
    delete study.lots;
    delete study.coupons;
  },
  'criterion-not-measured': (history) => history.lots.get('L-1')!.values.splice(0),
  'study-other-family': OTHER_FAMILY('Mg-Zn-Ca'),
  'study-other-alloy': OTHER_FAMILY('Zn-Mg'),
  'study-not-sterilised': (history) => {
    body(history, 'family').sterile = 'sterile';
    Object.assign(body(history, 'design-study'), { purpose: 'validation', sterilised: 'no' });
  },
  'study-not-aged': (history) => {
    const study = body(history, 'design-study');
    study.purpose = 'shelf life';
    delete study.aged;
  },
  'worst-case-without-study': (history) =>
    body(history, 'design-envelope').parameters.push({ parameter: 'width', ucum: 'mm', min: '2', max: '6' }),
  'hazard-without-control': (history) => another(history, 'hazard', { hazard: 'HZ-2' }),
  'control-not-verified': (history) => another(history, 'risk-control', { control: 'RC-2' }, ['verifiedBy']),
  'revision-without-change': (history) => {
    const recipe = find(history, 'recipe');
    again(history, 'recipe', recipe.body.revision + 1);
  },
  'reviewer-is-author': (history) => {
    find(history, 'design-output').authors = ['P-QE'];
  },
  'review-not-independent': (history) => {
    delete body(history, 'design-review').independent;
  },
  'action-late': (history) => {
    delete body(history, 'design-review').actions[0].doneOn;
  },
  'action-open': (history) => {
    body(history, 'design-review').actions = [{ what: 'test another length', who: 'P-AN', due: '2031-05-01' }];
  },
  'supplier-approval-ends': (history) => {
    body(history, 'supplier').approvals[0].to = '2031-05-20';
  },
  'validation-ends': (history) => {
    body(history, 'process-validation').validUntil = '2031-04-01T00:00:00Z';
  },
  'trigger-machine-moved': (history) => {
    const now = structuredClone(find(history, 'machine'));
    now.body.location = 'Room 2';
    now.recordedAt = '2031-02-01T08:00:00.000Z';
    history.drafts.set('machine now', { ...now, body: { ...now.body, reason: 'new hall' } });
  },
  'trigger-new-supplier': (history) =>
    history.drafts.set(
      'supplier 2',
      draftOf({
        ...structuredClone(body(history, 'supplier')),
        supplier: 'S2',
        approvals: [{ scope: 'MG-Powder', from: '2031-01-01', to: '2033-12-31', basis: 'audit (invented)' }],
      }),
    ),
  'trigger-recipe-group': (history) => {
    body(history, 'process-validation').recipeGroups = ['screws'];
  },
  'transfer-unshown': (history) => {
    delete body(history, 'design-transfer').shownBy;
  },
  'baseline-with-draft': (history) => {
    find(history, 'recipe').approvedBy = null;
    freeze(history, kindNamed('recipe')!.schema.parse(body(history, 'recipe')));
  },
  'baseline-not-as-recorded': (history) => freeze(history, { revision: 'another' }),
  'change-not-listed': (history) => {
    delete body(history, 'design-change').touches;
  },
  'change-line-open': (history) => {
    delete body(history, 'design-change').touches.lines[0].answer;
  },
  'change-list-altered': (history) => {
    body(history, 'design-change').touches.lines[0].says = '1 in process';
  },
  'claim-not-held': (history) => {
    body(history, 'design-study').criterion.value = '231.8';
  },
  'claim-undecided': (history) => {
    body(history, 'design-study').n = 3;
  },
};

/** @param frozen what the baseline has of the recipe. */
function freeze(history: History, frozen: unknown): void {
  const members = [{ kind: 'recipe', key: 'RC', revision: 2, digest: digestOf(frozen) }];
  const asOf = { entries: 4, root: '5a'.repeat(32) };
  history.drafts.set(
    'baseline',
    draftOf({ kind: 'baseline', format: 1, family: 'PLATE', name: 'freeze-1', members, asOf }),
  );
}
