const ENTITIES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&apos;',
};

/** XML 1.0 section 2.2: these characters cannot stand in a document, not even as a reference. */
const FORBIDDEN = /[^\t\n\r\u{20}-\u{d7ff}\u{e000}-\u{fffd}\u{10000}-\u{10ffff}]/gu;

/** Text as the content of an element or of a quoted attribute; what XML cannot hold becomes U+FFFD. */
export function escapeXml(text: string): string {
  return text.replace(FORBIDDEN, '\u{fffd}').replace(/[&<>"']/g, (sign) => ENTITIES[sign]!);
}
