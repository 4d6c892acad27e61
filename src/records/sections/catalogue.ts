import type { RecordPage } from '../../pdf/page.js';
import type { SectionName } from '../../report/record-template.js';
import type { RecordView } from '../record-view.js';
import { drawAttachments } from './attachments.js';
import { drawAuditTrail } from './audit-trail.js';
import { drawBuildLog } from './build-log.js';
import { drawCautions } from './cautions.js';
import { drawDegradation } from './degradation.js';
import { drawDistribution } from './distribution.js';
import { drawDocuments, drawIdentity } from './identity.js';
import { drawMaterials } from './materials.js';
import { drawNonconformities } from './nonconformities.js';
import { drawPeeningMachining } from './peening-machining.js';
import { drawPostProcess } from './post-process.js';
import { drawRecipes } from './recipe.js';
import { drawReconciliation } from './reconciliation.js';
import { drawRelease } from './release.js';
import { drawResults } from './results.js';
import { drawSignaturePage } from './signature-page.js';
import { drawStatistics } from './statistics.js';

export type DrawSection = (pdf: RecordPage, view: RecordView) => void;

/** What each section of the template draws below its title. */
export const SECTIONS: Readonly<Record<SectionName, DrawSection>> = {
  cautions: drawCautions,
  release: drawRelease,
  identity: drawIdentity,
  documents: drawDocuments,
  materials: drawMaterials,
  recipe: drawRecipes,
  build: drawBuildLog,
  'peening-machining': drawPeeningMachining,
  'post-process': drawPostProcess,
  inspection: drawResults,
  degradation: drawDegradation,
  statistics: drawStatistics,
  nonconformities: drawNonconformities,
  reconciliation: drawReconciliation,
  distribution: drawDistribution,
  'audit-trail': drawAuditTrail,
  attachments: drawAttachments,
  'signature-page': drawSignaturePage,
};
