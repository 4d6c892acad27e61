import type { RecordPage } from '../pdf/page.js';
import type { RecordView } from '../record-view.js';
import type { SectionName } from '../template.js';
import { drawAttachments } from './attachments.js';
import { drawBuildLog } from './build-log.js';
import { drawCautions } from './cautions.js';
import { drawChecks } from './checks.js';
import { drawDocuments, drawIdentity } from './identity.js';
import { drawMaterials } from './materials.js';
import { drawNotRecorded } from './not-recorded.js';
import { drawRecipes } from './recipe.js';
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
  release: { draw: drawChecks, newPage: true },
  identity: { draw: drawIdentity, newPage: true },
  documents: { draw: drawDocuments },
  materials: { draw: drawMaterials, newPage: true },
  recipe: { draw: drawRecipes, newPage: true },
  build: { draw: drawBuildLog, newPage: true },
  'peening-machining': { draw: (pdf) => drawNotRecorded(pdf, 'Media and tools of peening and milling') },
  'post-process': { draw: (pdf) => drawNotRecorded(pdf, 'Sterile load and packing') },
  inspection: { draw: drawResults, newPage: true },
  degradation: { draw: (pdf) => drawNotRecorded(pdf, 'Test conditions of degradation') },
  statistics: { draw: drawStatistics, newPage: true },
  nonconformities: { draw: (pdf) => drawNotRecorded(pdf, 'Nonconformities, concessions and rework') },
  reconciliation: { draw: (pdf) => drawNotRecorded(pdf, 'Labels') },
  distribution: { draw: (pdf) => drawNotRecorded(pdf, 'To whom units went') },
  'audit-trail': { draw: (pdf) => drawNotRecorded(pdf, 'Proofs') },
  attachments: { draw: drawAttachments, newPage: true },
  'signature-page': { draw: (pdf) => drawNotRecorded(pdf, 'Signatures') },
};
