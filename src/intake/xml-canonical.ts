import {
  C14nCanonicalization,
  C14nCanonicalizationWithComments,
  type CanonicalizationOrTransformationAlgorithmProcessOptions,
  ExclusiveCanonicalization,
  ExclusiveCanonicalizationWithComments,
  type SignedXml,
} from 'xml-crypto';

export const DSIG = 'http://www.w3.org/2000/09/xmldsig#';
const ENVELOPED = `${DSIG}enveloped-signature`;
/** XML-Signature XPath Filter 2.0 (W3C). */
const FILTER = 'http://www.w3.org/2002/06/xmldsig-filter2';
/**
 * Canonical XML. 1.1 differs from 1.0 by attributes `xml:id` and `xml:base` of what stands around the part that is digested,
 * and so not at all for a whole document; of a part that has them around it, the digest is another one, and is refused.
 */
const FORMS = [
  ['http://www.w3.org/TR/2001/REC-xml-c14n-20010315', C14nCanonicalization],
  ['http://www.w3.org/TR/2001/REC-xml-c14n-20010315#WithComments', C14nCanonicalizationWithComments],
  ['http://www.w3.org/2006/12/xml-c14n11', C14nCanonicalization],
  ['http://www.w3.org/2006/12/xml-c14n11#WithComments', C14nCanonicalizationWithComments],
  ['http://www.w3.org/2001/10/xml-exc-c14n#', ExclusiveCanonicalization],
  ['http://www.w3.org/2001/10/xml-exc-c14n#WithComments', ExclusiveCanonicalizationWithComments],
] as const;
const CANONICAL: ReadonlySet<string> = new Set(FORMS.map(([uri]) => uri));
const ELEMENT = 1;
const PROCESSING_INSTRUCTION = 7;

type Forms = SignedXml['CanonicalizationAlgorithms'];

export const isCanonical = (algorithm: string): boolean => CANONICAL.has(algorithm);

/**
 * Whether a transform takes away the signature that it belongs to, and no more than signatures: as *enveloped-signature*, or
 * by the one path through which signatures of XAdES do it too.
 */
export function leavesOutSignature(transform: Element): boolean {
  const parts = Array.from(transform.childNodes).filter(({ nodeType }) => nodeType === ELEMENT) as Element[];
  const algorithm = transform.getAttribute('Algorithm');
  if (algorithm === ENVELOPED) return parts.length === 0;
  const [path] = parts;
  if (algorithm !== FILTER || path === undefined || parts.length > 1) return false;
  const isPath =
    path.namespaceURI === FILTER && path.localName === 'XPath' && path.getAttribute('Filter') === 'subtract';
  const [, prefix] = /^\/descendant(?:-or-self)?::([\w.-]+):Signature$/.exec((path.textContent ?? '').trim()) ?? [];
  return isPath && prefix !== undefined && path.lookupNamespaceURI(prefix) === DSIG;
}

/** Takes every signature out of a document. */
class WithoutSignatures {
  getAlgorithmName = () => FILTER;

  process(node: Node): Node {
    const found = Array.from((node as Element).getElementsByTagNameNS(DSIG, 'Signature'));
    for (const one of found) one.parentNode?.removeChild(one);
    return node;
  }
}

/**
 * What brings a document into the form that is digested. The library digests the root of a document, and leaves off the
 * processing instructions around it, such as the style sheet that certificates name: they are signed too (XML Signature 1.1,
 * 4.4.3.3; Canonical XML 1.0, 2.3).
 */
export function canonicalForms(document: Document): Forms {
  const root = document.documentElement;
  const around = Array.from(document.childNodes);
  const at = around.indexOf(root);
  const told = (nodes: readonly ChildNode[]) =>
    nodes.filter(isInstruction).map(({ target, data }) => (data === '' ? `<?${target}?>` : `<?${target} ${data}?>`));
  const before = told(around.slice(0, at)).map((one) => `${one}\n`);
  const after = told(around.slice(at + 1)).map((one) => `\n${one}`);
  const whole = (node: Node, text: string) =>
    node.parentNode === null && node.nodeName === root.nodeName ? [...before, text, ...after].join('') : text;
  const forms = FORMS.map(([uri, Form]) => [
    uri,
    class {
      private readonly form = new Form();
      getAlgorithmName = () => uri;
      process(node: Element, options: CanonicalizationOrTransformationAlgorithmProcessOptions): string {
        return whole(node, this.form.process(node, options));
      }
    },
  ]);
  return { ...(Object.fromEntries(forms) as Forms), [FILTER]: WithoutSignatures as unknown as Forms[string] };
}

/**
 * What of a document the library would not digest as it stands: an instruction inside it, of which it takes the content for
 * text, and an attribute whose name begins like a declaration of a namespace, which it leaves out.
 * @returns the first in words, null where all of it is digested.
 */
export function notDigested({ documentElement: root }: Document): string | null {
  const open: Node[] = [root];
  for (let node = open.pop(); node !== undefined; node = open.pop()) {
    if (isInstruction(node as ChildNode)) return `an instruction <?${node.nodeName} … ?> inside the document`;
    const attributes = node.nodeType === ELEMENT ? Array.from((node as Element).attributes) : [];
    const [like] = attributes.filter(({ name }) => /^xmlns[^:]/.test(name));
    if (like) return `an attribute ${like.name}`;
    open.push(...Array.from(node.childNodes ?? []).reverse());
  }
  return null;
}

/** The head of the file, `<?xml … ?>`, is none, whatever the parser makes of it. */
const isInstruction = (node: ChildNode): node is ProcessingInstruction =>
  node.nodeType === PROCESSING_INSTRUCTION && (node as ProcessingInstruction).target !== 'xml';
