import { type EvidencePlace, readPlaced } from './carried-evidence.js';
import { type DesignFileContent, renderDesign } from './render.js';

/** What the file of a design is made of, with the places of the files that it carries: no other thread holds their bytes. */
export interface DesignFilePlaced extends Omit<DesignFileContent, 'evidence'> {
  readonly evidence: readonly EvidencePlace[];
}

export type Rendered = Awaited<ReturnType<typeof renderDesign>>;

/** @throws as `readPlaced` and `renderDesign`. */
export async function renderPlaced({ evidence, ...content }: DesignFilePlaced): Promise<Rendered> {
  return renderDesign({ ...content, evidence: await readPlaced(evidence) });
}
