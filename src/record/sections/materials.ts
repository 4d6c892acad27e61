import { compareWithLimits, limitsText, readReported } from '../../assessment/limits.js';
import type { Facts } from '../../dossier/facts.js';
import type { Receipt } from '../../kinds/receipt.js';
import { convert } from '../../units.js';
import { genealogyFigure } from '../figures.js';
import type { RecordPage } from '../pdf/page.js';
import { type RecordView, timeText } from '../record-view.js';

/** Where the metal came from, and certificates line by line against the specification. */
export function drawMaterials(pdf: RecordPage, { facts }: RecordView): void {
  pdf.heading(1, 'Materials', { newPage: true });
  pdf.figure(genealogyFigure(facts));
  pdf.table({
    caption: 'Powder states, each a node of its own',
    columns: ['State', 'Operation', 'Made', 'By', 'Contains', 'Reuse cycle'].map((head) => ({ head })),
    rows: [...facts.powderStates.values()].map(({ body }) => [
      body.state,
      body.operation,
      timeText(body.madeAt),
      body.madeBy,
      body.inputs.map((input) => `${'receipt' in input ? input.receipt : input.state} ${input.massG} g`).join('; '),
      String(body.reuseCycle),
    ]),
  });
  pdf.table({
    caption: 'Receipts',
    columns: ['Receipt', 'Material', 'Supplier', 'Supplier lot', 'Heats', 'Received', 'Expiry', 'Status'].map(
      (head) => ({
        head,
      }),
    ),
    rows: [...facts.receipts.values()].map(({ body }) => [
      body.receipt,
      body.material,
      facts.suppliers.get(body.supplier)?.body.title ?? body.supplier,
      body.supplierLot,
      body.heats.join(', ') || 'none',
      body.receivedAt.slice(0, 10),
      body.expiry ?? 'none stated',
      body.status,
    ]),
  });
  for (const { body } of facts.receipts.values()) {
    if (body.certificate) drawCertificate(pdf, facts, body);
  }
}

function drawCertificate(pdf: RecordPage, facts: Facts, receipt: Receipt): void {
  const certificate = receipt.certificate!;
  const limits = facts.specification.body.materials.filter((limit) => limit.material === receipt.material);
  const properties = [
    ...certificate.lines.map((line) => line.property),
    ...limits
      .map((limit) => limit.property)
      .filter((name) => !certificate.lines.some((line) => line.property === name)),
  ];
  pdf.heading(2, `Certificate ${certificate.number}`);
  pdf.facts([
    ['Receipt', `${receipt.receipt}, ${receipt.material}, lot ${receipt.supplierLot}`],
    ['Type and date', `${certificate.type}, issued ${certificate.issued}`],
    ['Transcribed and checked', `${certificate.transcribedBy}, checked by ${certificate.checkedBy ?? 'nobody'}`],
  ]);
  pdf.table({
    caption: `Certificate ${certificate.number}, line by line`,
    columns: [
      { head: 'Property', width: 2 },
      { head: 'Certified', width: 2 },
      { head: 'Unit', width: 1.4 },
      { head: 'Limit of the specification', width: 3.4 },
      { head: 'Outcome', width: 2.6 },
    ],
    rows: properties.map((property) => {
      const line = certificate.lines.find((item) => item.property === property);
      const limit = limits.find((item) => item.property === property);
      const outcome = outcomeOf(line, limit);
      return {
        cells: [
          property,
          line?.value ?? 'not stated',
          line?.ucum ?? '',
          limit ? `${limitsText(limit)} ${limit.ucum}` : 'no limit',
          outcome,
        ],
        attention: outcome !== 'conforms' && outcome !== 'for information',
      };
    }),
  });
}

type Line = NonNullable<Receipt['certificate']>['lines'][number];

function outcomeOf(
  line: Line | undefined,
  limit: Facts['specification']['body']['materials'][number] | undefined,
): string {
  if (!line) return 'missing';
  if (!limit) return 'for information';
  const value = readReported(line.value);
  return compareWithLimits({ ...value, number: convert(value.number, line.ucum, limit.ucum) }, limit);
}
