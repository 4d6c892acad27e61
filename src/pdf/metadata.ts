import { createHash } from 'node:crypto';
import { escapeXml } from '../base/xml-text.js';
import type { RecordIdentity } from './identity.js';
import type { PageWords } from './page-words.js';
import { oneLine } from './visible-text.js';

/** Namespace of the record's own properties in the metadata. */
export const RECORD_NAMESPACE = 'urn:lotwright:record:1';

/** The properties of the document information dictionary; the metadata packet must say the same. */
export function informationOf(identity: RecordIdentity) {
  return {
    Title: oneLine(identity.title),
    Author: oneLine(identity.author),
    Subject: oneLine(identity.subject),
    Keywords: [
      identity.number,
      `revision ${identity.revision}`,
      `sha256:${identity.digest}`,
      ...(identity.enclosure === undefined ? [] : [`enclosure:${identity.enclosure}`]),
    ].join('; '),
    Creator: identity.program,
    Producer: identity.program,
    CreationDate: identity.printedAt,
    ModDate: identity.printedAt,
  };
}

/** The first identifier stays the same over the revisions of a record, the second names this one. */
export function identifiersOf(identity: RecordIdentity): { readonly document: string; readonly instance: string } {
  return {
    document: uuidOf(identity.number),
    instance: uuidOf(instanceText(identity)),
  };
}

export function fileIdOf(identity: RecordIdentity): Buffer {
  return createHash('sha256').update(instanceText(identity)).digest().subarray(0, 16);
}

function instanceText({ number, revision, digest, printedAt }: RecordIdentity): string {
  return [number, revision, digest, printedAt.toISOString()].join('\n');
}

/** A UUID of version 8 (RFC 9562, 5.8): 122 bits of the SHA-256 of a text. */
function uuidOf(text: string): string {
  const bytes = createHash('sha256').update(text).digest().subarray(0, 16);
  bytes[6] = (bytes[6]! & 0x0f) | 0x80;
  bytes[8] = (bytes[8]! & 0x3f) | 0x80;
  const hex = bytes.toString('hex');
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-');
}

/** The descriptions of the metadata packet (ISO 16684-1), with the mark of PDF/UA; pdfkit writes that of PDF/A. */
export function metadataXml(identity: RecordIdentity, language: string): string {
  const info = informationOf(identity);
  const date = identity.printedAt.toISOString().replace(/\.\d+Z$/, 'Z');
  const ids = identifiersOf(identity);
  return [
    description('dc="http://purl.org/dc/elements/1.1/"', [
      '<dc:format>application/pdf</dc:format>',
      `<dc:title>${alternative(info.Title)}</dc:title>`,
      `<dc:creator><rdf:Seq><rdf:li>${escapeXml(info.Author)}</rdf:li></rdf:Seq></dc:creator>`,
      `<dc:description>${alternative(info.Subject)}</dc:description>`,
      `<dc:language><rdf:Bag><rdf:li>${escapeXml(language)}</rdf:li></rdf:Bag></dc:language>`,
    ]),
    description('xmp="http://ns.adobe.com/xap/1.0/"', [
      `<xmp:CreateDate>${date}</xmp:CreateDate>`,
      `<xmp:ModifyDate>${date}</xmp:ModifyDate>`,
      `<xmp:MetadataDate>${date}</xmp:MetadataDate>`,
      `<xmp:CreatorTool>${escapeXml(info.Creator)}</xmp:CreatorTool>`,
    ]),
    description('pdf="http://ns.adobe.com/pdf/1.3/"', [
      `<pdf:Producer>${escapeXml(info.Producer)}</pdf:Producer>`,
      `<pdf:Keywords>${escapeXml(info.Keywords)}</pdf:Keywords>`,
    ]),
    description('xmpMM="http://ns.adobe.com/xap/1.0/mm/"', [
      `<xmpMM:DocumentID>uuid:${ids.document}</xmpMM:DocumentID>`,
      `<xmpMM:InstanceID>uuid:${ids.instance}</xmpMM:InstanceID>`,
    ]),
    description(`rec="${RECORD_NAMESPACE}"`, [
      `<rec:number>${escapeXml(identity.number)}</rec:number>`,
      `<rec:revision>${escapeXml(identity.revision)}</rec:revision>`,
      `<rec:digest>${escapeXml(identity.digest)}</rec:digest>`,
      `<rec:state>${identity.state}</rec:state>`,
    ]),
    description(`pdfuaid="${ACCESSIBLE_NAMESPACE}"`, ['<pdfuaid:part>1</pdfuaid:part>']),
    extensionSchemas(identity.words),
  ].join('\n');
}

function description(namespace: string, properties: readonly string[]): string {
  return `<rdf:Description rdf:about="" xmlns:${namespace}>\n${properties.join('\n')}\n</rdf:Description>`;
}

function alternative(text: string): string {
  return `<rdf:Alt><rdf:li xml:lang="x-default">${escapeXml(text)}</rdf:li></rdf:Alt>`;
}

/** In which a file says that it is made for everybody to read (ISO 14289-1, clause 5). */
const ACCESSIBLE_NAMESPACE = 'http://www.aiim.org/pdfua/ns/id/';

const OWN_PROPERTIES = ['number', 'revision', 'digest', 'state'] as const;

/** PDF/A wants every schema that it does not know described in the packet itself (ISO 19005-3, 6.6.2.3). */
function extensionSchemas({ properties: meanings }: PageWords): string {
  const own = OWN_PROPERTIES.map((name) => property(name, 'Text', 'external', meanings[name]));
  const accessible = property('part', 'Integer', 'internal', meanings.accessiblePart);
  return [
    '<rdf:Description rdf:about="" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"',
    '  xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"',
    '  xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">',
    '<pdfaExtension:schemas><rdf:Bag>',
    schema(meanings.schema, RECORD_NAMESPACE, 'rec', own),
    schema(meanings.accessible, ACCESSIBLE_NAMESPACE, 'pdfuaid', [accessible]),
    '</rdf:Bag></pdfaExtension:schemas>',
    '</rdf:Description>',
  ].join('\n');
}

function schema(name: string, namespace: string, prefix: string, properties: readonly string[]): string {
  return [
    '<rdf:li rdf:parseType="Resource">',
    `<pdfaSchema:schema>${escapeXml(name)}</pdfaSchema:schema>`,
    `<pdfaSchema:namespaceURI>${namespace}</pdfaSchema:namespaceURI>`,
    `<pdfaSchema:prefix>${prefix}</pdfaSchema:prefix>`,
    `<pdfaSchema:property><rdf:Seq>\n${properties.join('\n')}\n</rdf:Seq></pdfaSchema:property>`,
    '</rdf:li>',
  ].join('\n');
}

function property(name: string, type: string, category: 'internal' | 'external', meaning: string): string {
  return (
    `<rdf:li rdf:parseType="Resource"><pdfaProperty:name>${name}</pdfaProperty:name>` +
    `<pdfaProperty:valueType>${type}</pdfaProperty:valueType>` +
    `<pdfaProperty:category>${category}</pdfaProperty:category>` +
    `<pdfaProperty:description>${escapeXml(meaning)}</pdfaProperty:description></rdf:li>`
  );
}
