import { readFileSync } from 'node:fs';

/** One number or list of a published example, with the value recomputed by general-purpose software. */
export interface Expected {
  readonly name: string;
  readonly published?: unknown;
  readonly recomputed?: unknown;
  readonly tolerance?: number | string;
  readonly software_tolerance?: string;
}

/** A published worked example of the open reference catalogue. */
export interface ReferenceItem {
  readonly id: string;
  readonly area: number;
  readonly title: string;
  readonly source: { readonly name: string; readonly section?: string; readonly table?: string };
  // biome-ignore lint/suspicious/noExplicitAny: the inputs differ from item to item
  readonly inputs: any;
  readonly expected: readonly Expected[];
}

const catalogue = JSON.parse(readFileSync(new URL('./open.json', import.meta.url), 'utf8')) as {
  readonly items: readonly ReferenceItem[];
};

/** The item with this id; a test that asks for one that is not there must fail. */
export function reference(id: string): ReferenceItem {
  const item = catalogue.items.find((candidate) => candidate.id === id);
  if (!item) throw new Error(`the reference catalogue has no item ${id}`);
  return item;
}

/** The recomputed value of one expected quantity. */
export function recomputed(item: ReferenceItem, name: string): number {
  const found = item.expected.find((candidate) => candidate.name === name);
  if (!found) throw new Error(`${item.id} has no expected value "${name}"`);
  return Number(found.recomputed);
}

/** Title for a test: what is checked and where it is published. */
export function titleOf({ id, title, source }: ReferenceItem): string {
  return [`${id}: ${title} (${source.name}`, source.table ?? source.section].filter(Boolean).join(', ').concat(')');
}
