import { SaxesParser } from 'saxes';

/**
 * What may stand in an element, in which order: names of children with `?`, `*`, `+`, `|` and brackets, as a document type
 * declares it; after `all:` they may come in any order.
 */
export type ContentModels = Readonly<Record<string, string>>;

/**
 * Where a document has other children in an element than its model says, with the line. An element without a model is one
 * with a text alone; with `others` passed by, nothing is said of it.
 */
export function modelProblems(
  xml: string,
  models: ContentModels,
  { others = 'text' }: { readonly others?: 'text' | 'passed by' } = {},
): string[] {
  const problems: string[] = [];
  const open: { name: string; line: number; children: string[] }[] = [];
  const parser = new SaxesParser({ xmlns: true });
  parser.on('opentag', ({ local }) => {
    open.at(-1)?.children.push(local);
    open.push({ name: local, line: parser.line, children: [] });
  });
  parser.on('closetag', () => {
    const { name, line, children } = open.pop()!;
    const model = models[name];
    if (model === undefined && (others === 'passed by' || children.length === 0)) return;
    if (model === undefined || !fits(children, model)) problems.push(`${line}: ${name} holds ${children.join(' ')}`);
  });
  parser.write(xml).close();
  return problems;
}

function fits(children: readonly string[], model: string): boolean {
  if (!model.startsWith('all:')) {
    const pattern = model.replaceAll(/\w+/g, (name) => `(?:${name};)`).replaceAll(/\s+/g, '');
    return new RegExp(`^${pattern}$`).test(children.map((name) => `${name};`).join(''));
  }
  const parts = model.slice('all:'.length).trim().split(/\s+/);
  const names = parts.map((part) => part.replace('?', ''));
  return (
    new Set(children).size === children.length &&
    children.every((child) => names.includes(child)) &&
    parts.every((part) => part.endsWith('?') || children.includes(part))
  );
}
