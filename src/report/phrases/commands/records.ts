interface Issued {
  readonly number: string;
  readonly revision: number;
  readonly draft: boolean;
  readonly final: boolean;
}

/** What the command that writes records and papers prints around the facts. */
export const RECORD_LINES = {
  paper: (serials: readonly string[], file: string, draft: boolean) =>
    `${serials.join(', ')}: ${file}${draft ? ' (draft)' : ''}`,
  record: ({ number, revision, draft, final }: Issued, file: string) =>
    `Record ${number}, revision ${revision} (${draft ? 'draft' : `${final ? 'final' : 'not final'}, sealed`}): ${file}`,
  digests: (content: string, enclosure: string) => `Content ${content}, enclosure ${enclosure}.`,
  package: (files: number, file: string) => `Package of ${files} files: ${file}`,
  leftOut: (says: string) => `left out: ${says}`,
};
