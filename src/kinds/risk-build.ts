import { z } from 'zod';
import { Code, Format, Implants, PastMoment, Reason, Text } from './fields.js';
import { defineKind, repeated, tie } from './kind.js';

export const RiskBuild = z.strictObject({
  kind: z.literal('risk-build'),
  format: Format,
  build: Code.describe('the build that is allowed'),
  receipts: z.array(Code).min(1).describe('receipts in quarantine from which it is built'),
  why: Text.describe('why it cannot wait for the certificate'),
  implants: Implants.describe('serials that stay on hold until the receipts are accepted'),
  by: Code.describe('who asks for it'),
  at: PastMoment,
  reason: Reason,
});
export type RiskBuild = z.infer<typeof RiskBuild>;

export const riskBuild = defineKind<RiskBuild>({
  kind: 'risk-build',
  numbering: 'running',
  purpose:
    'A build from material in quarantine. It counts only when process and quality signed it before the chamber closed.',
  schema: RiskBuild,
  key: (document) => document.build,
  name: (document) => `build ${document.build} from ${document.receipts.join(', ')} in quarantine`,
  links: (document) => [
    tie('allows', 'build', document.build, 'build'),
    ...document.receipts.map((receipt, index) => tie('rests on', 'receipt', receipt, `receipts[${index}]`)),
    ...document.implants.map((serial, index) => tie('keeps on hold', 'implant', serial, `implants[${index}]`)),
    tie('asked for by', 'person', document.by, 'by'),
  ],
  contradictions: (document) => [
    ...repeated(document.receipts, (index) => `receipts[${index}]`, 'receipt'),
    ...repeated(document.implants, (index) => `implants[${index}]`, 'implant'),
  ],
});
