import { type KindName, kindNamed } from '../../src/kinds/catalogue.js';
import { KINDS_OF_WAY, SAID_OF_DESIGN } from '../../src/kinds/design-history/said-of-design.js';
import { DESIGN_DOCUMENTS, ENVELOPE } from '../support/documents/design-history.js';

/** Ties that a field of one kind allows to whatever document: of these the refusals speak. */
const FREE = ['gives', 'changes', 'leads to', 'reviews', 'transfers', 'answers', 'freezes'];

/** A document with every optional list that ties it to something else. */
const BODIES = new Map(
  [...Object.values(DESIGN_DOCUMENTS), ENVELOPE].map((document) => [
    String(document.kind),
    kindNamed(document.kind)!.schema.parse(document),
  ]),
);

/** Kinds that a document of this kind is tied to by fields that allow one kind each. */
const leadTo = (kind: string): string[] => {
  const links = kindNamed(kind)!.links(BODIES.get(kind) as never);
  return [...new Set(links.filter(({ name }) => !FREE.includes(name)).map((link) => String(link.kind)))];
};

/** Every loop among kinds, as the kinds that it goes through, each loop once. */
function loops(kinds: readonly string[], ties: (kind: string) => readonly string[]): string[] {
  const found = new Set<string>();
  const walk = (way: readonly string[]) => {
    for (const next of ties(way.at(-1)!).filter((one) => kinds.includes(one))) {
      if (way.includes(next)) found.add(way.slice(way.indexOf(next)).sort().join(', '));
      else walk([...way, next]);
    }
  };
  for (const kind of kinds) walk([kind]);
  return [...found];
}

it('has samples that are tied by each field which ties', () => {
  expect(leadTo('design-study')).toEqual(
    expect.arrayContaining(['design-input', 'design-output', 'user-need', 'design-envelope', 'lot', 'coupon']),
  );
  expect(leadTo('risk-control')).toEqual(expect.arrayContaining(['hazard', 'design-study']));
  expect(leadTo('design-output')).toContain('design-input');
  expect(leadTo('design-envelope')).toContain('design-study');
});

it('ties the way from need to test in no loop, and by those fields alone each other kind of a design neither', () => {
  expect(loops(KINDS_OF_WAY, leadTo)).toEqual([]);
  for (const kind of KINDS_OF_WAY) {
    const before = KINDS_OF_WAY.slice(0, KINDS_OF_WAY.indexOf(kind));
    const tied = leadTo(kind).filter((one) => (KINDS_OF_WAY as readonly string[]).includes(one));
    expect([kind, tied.filter((one) => !(before as readonly string[]).includes(one))]).toEqual([kind, []]);
  }
  expect(loops(SAID_OF_DESIGN, leadTo)).toEqual([]);
});

it('has one pair that names each other: a bound of an envelope its study, and a study the envelope whose worst case it tested', () => {
  expect(loops([...SAID_OF_DESIGN, 'design-envelope'], leadTo)).toEqual(['design-envelope, design-study']);
});

it.each(SAID_OF_DESIGN)('refuses an output that gives a %s, so that no free field ties a way to itself', (kind) => {
  const output = BODIES.get('design-output')!;
  const what = { kind, key: 'X-1', revision: 1 };
  const faults = kindNamed('design-output' satisfies KindName)!.contradictions!({ ...output, what } as never);
  expect(faults).toEqual([expect.objectContaining({ field: 'what.kind', found: kind })]);
});
