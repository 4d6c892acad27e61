import { saidBy } from '../../src/report/document-words.js';
import { DESIGN_DOCUMENTS } from '../support/documents/design-history.js';

const documentOf = (kind: string) => Object.values(DESIGN_DOCUMENTS).find((one) => one.kind === kind)!;

it('leaves out the field that is the code of a document, and no other that says the same', () => {
  const need = documentOf('user-need');
  const said = saidBy({ kind: 'user-need', body: { ...need, text: need.need } }, ['kind', 'format']);
  expect(said.map(({ field }) => field)).not.toContain('need');
  expect(said.find(({ field }) => field === 'text')?.text).toBe(need.need);
});

it('leaves out none where the code is put together of several fields', () => {
  const fields = saidBy({ kind: 'baseline', body: documentOf('baseline') }, []).map(({ field }) => field);
  expect(fields).toEqual(expect.arrayContaining(['family', 'name']));
});
