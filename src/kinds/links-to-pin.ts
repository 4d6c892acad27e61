import { kindNamed } from './catalogue.js';
import type { LinkDraft } from './kind.js';

/**
 * Along which links of a document a lot file carries what they lead to. What a document declares by the way stands in the
 * document itself; what tells of a case lies in the part of the case.
 */
export function linksToPin(name: string, body: unknown): LinkDraft[] {
  const kind = kindNamed(name);
  if (!kind) return [];
  const links = [...kind.links(body), ...kind.declares(body).flatMap((item) => item.links)];
  return links.filter((link) => {
    const target = link.aside ? undefined : kindNamed(link.kind);
    return target !== undefined && target.caseOf === undefined;
  });
}
