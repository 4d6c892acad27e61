import type { Problem } from '../base/errors.js';
import { ENTRY_FORMS } from '../report/phrases/entry-forms.js';
import type { FormError } from '../web/form-errors.js';
import type { FormNode } from './form-nodes.js';
import { labelsOf } from './form-view.js';

/**
 * What is wrong with a document, as the form tells it: each thing leads to its field, or to the nearest place around it that
 * the form shows.
 */
export function entryErrors(nodes: readonly FormNode[], problems: readonly Problem[]): FormError[] {
  const labels = labelsOf(nodes);
  // One value may break several rules of its type: mending the first mostly mends them all.
  const told = problems.filter(
    ({ code, field }, index) =>
      code !== 'field' || problems.findIndex((other) => other.code === code && other.field === field) === index,
  );
  return told.map(({ code, field, found, expected, remedy }) => {
    const shown = nearest(field ?? '', labels);
    const label = shown === undefined ? (field ?? '') : labels.get(shown)!;
    const isEmpty = code === 'missing-field' && shown === field;
    const says = isEmpty ? ENTRY_FORMS.empty(label) : ENTRY_FORMS.wrong(label, found, expected, remedy);
    return { field: shown ?? null, says };
  });
}

function nearest(field: string, labels: ReadonlyMap<string, string>): string | undefined {
  for (let place = field; place !== ''; place = place.replace(/(?:^|\.)[^.[\]]*$|\[\d+\]$/, '')) {
    if (labels.has(place)) return place;
  }
  return undefined;
}
