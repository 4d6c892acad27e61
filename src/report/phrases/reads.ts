/** What the page of readings says. */
export const READ_KINDS: Readonly<Record<string, string>> = {
  lot: 'lot',
  evidence: 'file of evidence',
  search: 'what was searched for',
  signing: 'what is signed',
  page: 'page',
};

export const READS = {
  cases: (cases: readonly string[], more: number) => [...cases, ...(more === 0 ? [] : [`${more} more`])].join(', '),
  notTold: (why: string) => `the audit trail was not told who read what: ${why}`,
  notYours: 'who read what is shown to auditors and administrators alone',
};
