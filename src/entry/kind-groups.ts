import { KINDS } from '../kinds/catalogue.js';
import { capital } from '../report/phrases/capital.js';
import { KIND_GROUPS } from '../report/phrases/entry-forms.js';
import { kindText } from '../report/phrases/kinds.js';

/** Every kind that can be entered, where people look for it. */
export function kindGroups() {
  const elsewhere = new Set<string>(KIND_GROUPS.flatMap(({ kinds }) => [...kinds]));
  return KIND_GROUPS.map(({ id, title, kinds }) => {
    const isIn = new Set<string>(kinds);
    const inIt = KINDS.filter(({ kind }) => isIn.has(kind) || (kinds.length === 0 && !elsewhere.has(kind)));
    return {
      id,
      title,
      kinds: inIt.map(({ kind, purpose }) => ({ to: `/enter/${kind}`, text: capital(kindText(kind)), purpose })),
    };
  });
}
