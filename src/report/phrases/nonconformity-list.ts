import type { NonconformitySort } from '../../kinds/nonconformity.js';
import { textBy } from './coded.js';

const SORTS: Readonly<Record<NonconformitySort, string>> = {
  'identity or design': 'identity or design',
  material: 'material',
  'recipe or settings': 'recipe or settings',
  'process log': 'process log',
  coupon: 'coupon',
  value: 'value',
  test: 'test',
  'document or person': 'document or person',
  'cleaning or finish': 'cleaning or finish',
  load: 'load',
  label: 'label',
  handling: 'handling',
  other: 'other',
};

/** Of what sort a nonconformity is. */
export const sortText = textBy(SORTS);

/** Words of the page of all nonconformities. */
export const NONCONFORMITY_LIST = {
  noSort: 'no sort named',
  becomes: (units: readonly string[], as: string, clause: string | undefined) =>
    `${units.join(', ')}: ${as}${clause === undefined ? '' : ` by ${clause}`}`,
};
