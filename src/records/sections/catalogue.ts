import type { RecordPage } from '../../pdf/page.js';
import { notRecordedText } from '../../report/phrases/not-recorded.js';
import { DISTRIBUTION } from '../../report/phrases/record-distribution.js';
import type { SectionName } from '../../report/record-template.js';
import type { RecordView } from '../record-view.js';
import { drawAttachments } from './attachments.js';
import { drawAuditTrail } from './audit-trail.js';
import { drawBuildLog } from './build-log.js';
import { drawCautions } from './cautions.js';
import { drawDegradation } from './degradation.js';
import { drawDocuments, drawIdentity } from './identity.js';
import { drawMaterials } from './materials.js';
import { drawNonconformities } from './nonconformities.js';
import { drawPeeningMachining, drawPostProcess, drawReconciliation } from './post-process.js';
import { drawRecipes } from './recipe.js';
import { drawRelease, drawSignaturePage } from './release.js';
import { drawResults } from './results.js';
import { drawStatistics } from './statistics.js';

export type DrawSection = (pdf: RecordPage, view: RecordView) => void;

interface Section {
  readonly draw: DrawSection;
  /** Begins on a page of its own. */
  readonly newPage?: true;
}

/** What each section of the template draws below its title. */
export const SECTIONS: Readonly<Record<SectionName, Section>> = {
  cautions: { draw: drawCautions },
  release: { draw: drawRelease, newPage: true },
  identity: { draw: drawIdentity, newPage: true },
  documents: { draw: drawDocuments },
  materials: { draw: drawMaterials, newPage: true },
  recipe: { draw: drawRecipes, newPage: true },
  build: { draw: drawBuildLog, newPage: true },
  'peening-machining': { draw: drawPeeningMachining },
  'post-process': { draw: drawPostProcess },
  inspection: { draw: drawResults, newPage: true },
  degradation: { draw: drawDegradation, newPage: true },
  statistics: { draw: drawStatistics, newPage: true },
  nonconformities: { draw: drawNonconformities, newPage: true },
  reconciliation: { draw: drawReconciliation },
  distribution: { draw: (pdf) => pdf.paragraph(notRecordedText(DISTRIBUTION.what)) },
  'audit-trail': { draw: drawAuditTrail, newPage: true },
  attachments: { draw: drawAttachments, newPage: true },
  'signature-page': { draw: drawSignaturePage, newPage: true },
};
