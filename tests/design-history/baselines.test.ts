import { asMembers, compareMembers, draftsAmong, membersOf } from '../../src/design-history/baselines.js';
import { DesignIndex } from '../../src/design-history/design-index.js';
import { deviceFile } from '../../src/design-history/device-file.js';
import { type Draft, factsOf, type History, wholeHistory } from '../support/whole-history.js';

const membersIn = (history: History) => membersOf(new DesignIndex(factsOf(history)));

it('holds each current document of the family and what they name, and nothing that was withdrawn', () => {
  const history = wholeHistory();
  const kinds = new Set(membersIn(history).map(({ kind }) => kind));
  for (const kind of ['family', 'specification', 'recipe', 'method', 'design-plan', 'risk-control', 'design-study']) {
    expect(kinds).toContain(kind);
  }
  expect(kinds).not.toContain('machine');
  history.drafts.get('hazard')!.withdrawn = true;
  expect(membersIn(history).map(({ kind }) => kind)).not.toContain('hazard');
  history.drafts.get('recipe')!.approvedBy = null;
  expect(draftsAmong(membersIn(history)).map(({ kind }) => kind)).toEqual(['recipe']);
});

it('tells apart what came, went, was revised, and was altered under the same number', () => {
  const members = asMembers(membersIn(wholeHistory()));
  const [gone, revised, altered, ...rest] = members;
  const next = { ...revised!, revision: revised!.revision + 1, digest: '11'.repeat(32) };
  const forged = { ...altered!, digest: '22'.repeat(32) };
  const came = { kind: 'user-need', key: 'UN-9', revision: 1, digest: '33'.repeat(32) };
  const { added, removed, ...both } = compareMembers(members, [came, forged, next, ...rest].reverse());
  expect([added, removed]).toEqual([[came], [gone]]);
  expect(both.revised).toEqual([
    { before: revised, after: next },
    { before: altered, after: forged },
  ]);
  expect(both.same).toBe(rest.length);
});

it('lists for the shop floor what is approved and in effect, and brings nothing back for what is over or withdrawn', () => {
  const history = wholeHistory();
  const floor = () => deviceFile(new DesignIndex(factsOf(history))).map(({ kind, revision }) => `${kind} ${revision}`);
  expect(floor()).toEqual(expect.arrayContaining(['family 1', 'specification 3', 'recipe 2', 'labelling-decision 1']));
  const recipe = history.drafts.get('recipe')!;
  const draft: Draft = { ...structuredClone(recipe), approvedBy: null };
  draft.body.revision = 3;
  history.drafts.set('recipe again', draft);
  expect(floor()).toContain('recipe 2');
  draft.approvedBy = 'P-QE';
  expect(floor()).toContain('recipe 3');
  expect(floor()).not.toContain('recipe 2');
  draft.withdrawn = true;
  expect(floor().filter((one) => one.startsWith('recipe'))).toEqual([]);
  const validation = history.drafts.get('process-validation')!;
  const later: Draft = structuredClone(validation);
  Object.assign(later.body, { revision: 2, validFrom: '2031-09-01T00:00:00Z' });
  history.drafts.set('process-validation again', later);
  const validations = () => floor().filter((one) => one.startsWith('process-validation'));
  expect(validations()).toEqual(['process-validation 1']);
  Object.assign(later.body, { validFrom: '2031-01-01T00:00:00Z', validUntil: '2031-02-01T00:00:00Z' });
  expect(validations()).toEqual([]);
});
