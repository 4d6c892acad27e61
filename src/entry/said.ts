import type { SiteZone } from '../base/clock.js';
import type { FormNode } from './form-nodes.js';

/** A value of a form as it is read before it is stored; a list and a group lead their own, indented. */
export interface Said {
  readonly label: string;
  readonly value: string | undefined;
  readonly inner: readonly Said[];
}

/** What a form says, without what was left empty. */
export function saidIn(nodes: readonly FormNode[], zone: SiteZone): Said[] {
  return nodes.flatMap((node): Said[] => {
    if (node.is === 'field') {
      if (node.value === '') return [];
      const shown =
        node.local === undefined ? node.value : `${node.local.replace('T', ' ')} (UTC${zone.offset(node.value)})`;
      const value = node.unit === undefined || node.local !== undefined ? shown : `${shown} ${node.unit}`;
      return [{ label: node.label, value, inner: [] }];
    }
    const inner = saidIn(node.is === 'group' ? node.parts : node.rows, zone);
    return inner.length === 0 ? [] : [{ label: node.label, value: undefined, inner }];
  });
}
