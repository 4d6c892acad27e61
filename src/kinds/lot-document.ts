import { defineKind } from './kind.js';
import { logFiles } from './log-files.js';
import { Lot, PERSONAL_DATA } from './lot.js';
import { lotContradictions } from './lot-contradictions.js';
import { lotDeclares, lotLinks } from './lot-links.js';

/** The lot file that people hand in, with its ties and with what cannot be true in it. Its fields stand in `lot.ts`. */
export const lot = defineKind<Lot>({
  kind: 'lot',
  numbering: 'running',
  purpose: 'What is released together: its builds, implants and coupons, with everything that went into them.',
  schema: Lot,
  key: (document) => document.lot,
  name: (document) => `lot ${document.lot}`,
  links: lotLinks,
  declares: lotDeclares,
  contradictions: lotContradictions,
  files: (document) => [
    ...logFiles(document.builds),
    ...(document.fates ?? []).flatMap(({ evidence }, index) =>
      evidence === undefined
        ? []
        : [{ path: evidence, field: `fates[${index}].evidence`, name: 'attachment' as const }],
    ),
    ...(document.scans ?? []).map(({ file }, index) => ({
      path: file,
      field: `scans[${index}].file`,
      name: 'scan' as const,
    })),
    ...document.attachments.map((attachment, index) => ({
      path: attachment.file,
      field: `attachments[${index}].file`,
      name: attachment.personalData ? PERSONAL_DATA : ('attachment' as const),
    })),
  ],
});
