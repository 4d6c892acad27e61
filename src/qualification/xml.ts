/** Elements of XML as lines, indented by two spaces: for documents of the scenario that laboratories would send. */

export type Xml = readonly string[];

/** An element with a text, or with elements in it. */
export function element(
  name: string,
  content: string | readonly Xml[],
  attributes: Readonly<Record<string, string>> = {},
): Xml {
  const head = `${name}${Object.entries(attributes)
    .map(([attribute, value]) => ` ${attribute}="${escaped(value)}"`)
    .join('')}`;
  if (typeof content === 'string') return [`<${head}>${escaped(content)}</${name}>`];
  return [`<${head}>`, ...content.flat().map((line) => `  ${line}`), `</${name}>`];
}

export const xmlDocument = (root: Xml): string => ['<?xml version="1.0" encoding="UTF-8"?>', ...root, ''].join('\n');

const escaped = (text: string): string =>
  text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');
