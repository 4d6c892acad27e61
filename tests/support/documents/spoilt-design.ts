import { type Spoilt, spoilt } from './spoilt.js';

export const DESIGN_SPOILT: readonly Spoilt[] = [
  spoilt('design-plan', 'one stage twice', 'stages[1].stage', (document) => {
    document.stages[1].stage = 'concept';
  }),
  spoilt('design-plan', 'a stage that is due before the one before it', 'stages[1].due', (document) => {
    document.stages[1].due = '2030-05-01';
  }),
  spoilt('design-plan', 'the same with a stage without a day between them', 'stages[2].due', (document) => {
    document.stages.splice(1, 0, { stage: 'trial' });
    document.stages[2].due = '2030-05-01';
  }),
  spoilt('design-input', 'one need twice', 'meets[1].need', (document) => {
    document.meets.push({ need: 'UN-1', revision: 2 });
  }),
  spoilt('design-output', 'one input twice', 'meets[1].input', (document) => {
    document.meets.push(document.meets[0]);
  }),
  spoilt('design-output', 'essential, and nobody knows when it is accepted', 'criterion', (document) => {
    delete document.criterion;
  }),
  spoilt('design-output', 'an output that gives itself', 'what.kind', (document) => {
    document.what = { kind: 'design-output', key: document.output, revision: 1 };
  }),
  spoilt('design-output', 'an output that gives the study on it', 'what.kind', (document) => {
    document.what = { kind: 'design-study', key: 'DS-1', revision: 1 };
  }),
  spoilt('design-study', 'a range without its upper end', 'criterion.upTo', (document) => {
    document.criterion.claim = 'within';
  }),
  spoilt('design-study', 'a range the wrong way round', 'criterion.value', (document) => {
    Object.assign(document.criterion, { claim: 'within', upTo: '200' });
  }),
  spoilt('design-study', 'a reliability without a confidence', 'criterion.confidence', (document) => {
    delete document.criterion.confidence;
  }),
  spoilt('design-study', 'an end before its beginning', 'to', (document) => {
    document.to = '2030-08-31';
  }),
  spoilt('design-study', 'a report before its end', 'report.at', (document) => {
    document.report.at = '2030-09-19';
  }),
  spoilt('design-study', 'a verdict without a report', 'report', (document) => {
    delete document.report;
  }),
  spoilt('design-study', 'a report without a verdict', 'result', (document) => {
    document.result = 'open';
  }),
  spoilt('design-study', 'one lot twice', 'lots[1]', (document) => {
    document.lots.push('L-1');
  }),
  spoilt('design-study', 'one coupon twice', 'coupons[1]', (document) => {
    document.coupons.push('L-1-W1');
  }),
  spoilt('design-study', 'one implant twice', 'implants[1]', (document) => {
    document.implants = ['L-1-I1', 'L-1-I1'];
  }),
  spoilt('design-study', 'more parts than were tested', 'n', (document) => {
    document.n = 1;
    document.implants = ['L-1-I1'];
  }),
  spoilt('design-study', 'one output twice', 'verifies[2]', (document) => {
    document.verifies.push(document.verifies[1]);
  }),
  spoilt('design-study', 'one need twice', 'validates[1].need', (document) => {
    document.validates.push(document.validates[0]);
  }),
  spoilt('design-study', 'one envelope twice', 'worstCaseOf[1].envelope', (document) => {
    document.worstCaseOf.push(document.worstCaseOf[0]);
  }),
  spoilt('design-review', 'one participant twice', 'participants[2]', (document) => {
    document.participants.push('P-QE');
  }),
  spoilt('design-review', 'one document twice', 'reviews[1]', (document) => {
    document.reviews.push(document.reviews[0]);
  }),
  spoilt('design-review', 'an independent reviewer who was not there', 'independent', (document) => {
    document.independent = 'P-OP';
  }),
  spoilt('design-review', 'an action that was due before', 'actions[0].due', (document) => {
    document.actions[0].due = '2030-11-30';
  }),
  spoilt('design-review', 'an action that was done before', 'actions[0].doneOn', (document) => {
    document.actions[0].doneOn = '2030-11-30';
  }),
  spoilt('risk-control', 'one hazard twice', 'controls[1].hazard', (document) => {
    document.controls.push(document.controls[0]);
  }),
  spoilt('risk-control', 'one study twice', 'verifiedBy[1].designStudy', (document) => {
    document.verifiedBy.push(document.verifiedBy[0]);
  }),
  spoilt('design-change', 'one revision changed twice', 'changes[1]', (document) => {
    document.changes.push(document.changes[0]);
  }),
  spoilt('design-change', 'one new revision twice', 'leadsTo[1]', (document) => {
    document.leadsTo.push(document.leadsTo[0]);
  }),
  spoilt('design-change', 'a new revision that is the old one', 'leadsTo[1].revision', (document) => {
    document.leadsTo.push({ kind: 'recipe', key: 'RC', revision: 2 });
  }),
  spoilt('design-change', 'a change that does away with a change', 'changes[1]', (document) => {
    document.changes.push({ kind: 'design-change', key: 'DC-2', revision: 1 });
  }),
  spoilt('design-change', 'a change that leads to itself', 'leadsTo[1]', (document) => {
    document.leadsTo.push({ kind: 'design-change', key: document.change, revision: 2 });
  }),
  spoilt('design-change', 'one line twice', 'touches.lines[1]', (document) => {
    document.touches.lines.push(document.touches.lines[0]);
  }),
  spoilt('design-change', 'approved before anything was decided', 'decision', (document) => {
    Object.assign(document, { decision: 'open', approval: { by: 'P-QE', at: '2031-02-01T12:00:00+01:00' } });
  }),
  spoilt('design-transfer', 'one document twice', 'transfers[1]', (document) => {
    document.transfers.push(document.transfers[0]);
  }),
  spoilt('design-transfer', 'one validation twice', 'shownBy[1].validation', (document) => {
    document.shownBy.push(document.shownBy[0]);
  }),
  spoilt('labelling-decision', 'one law twice', 'laws[1]', (document) => {
    document.laws.push('EU');
  }),
  spoilt('gap-answer', 'one subject twice', 'subjects[1]', (document) => {
    document.subjects.push(document.subjects[0]);
  }),
  spoilt('gap-answer', 'an end before it was given', 'until', (document) => {
    document.until = '2031-02-01';
  }),
  spoilt('baseline', 'two revisions of one document', 'members[2]', (document) => {
    document.members.push({ ...document.members[1], revision: 3 });
  }),
];
