import type { FormNode } from './form-view.js';

/** A value of a form as it is read before it is stored; a list and a group lead their own, indented. */
export interface Said {
  readonly label: string;
  readonly value: string | undefined;
  readonly inner: readonly Said[];
}

/** What a form says, without what was left empty. */
export function saidIn(nodes: readonly FormNode[]): Said[] {
  return nodes.flatMap((node): Said[] => {
    if (node.is === 'field') {
      if (node.value === '') return [];
      const value = node.unit === undefined ? node.value : `${node.value} ${node.unit}`;
      return [{ label: node.label, value, inner: [] }];
    }
    const inner = saidIn(node.is === 'group' ? node.parts : node.rows);
    return inner.length === 0 ? [] : [{ label: node.label, value: undefined, inner }];
  });
}
