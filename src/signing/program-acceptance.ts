import { PROGRAM_VERSION, programBuild, programName } from '../base/settings.js';
import { revisionSubject } from '../dossier/signable.js';
import { programKey } from '../kinds/program-version.js';
import { ACCEPTANCE } from '../report/phrases/program-acceptance.js';
import type { Reads } from '../store/repositories.js';

/** Whether the cell has accepted the program that runs (ISO 13485:2016 4.1.6). */
export interface ProgramAcceptance {
  readonly program: string;
  readonly accepted: boolean;
  /** In words: by whom, or what is missing. */
  readonly says: string;
}

/** Reads the acceptance of exactly this build: another build is another program. */
export async function programAcceptance(read: Reads): Promise<ProgramAcceptance> {
  const told = (accepted: boolean, says: string): ProgramAcceptance => ({ program: programName(), accepted, says });
  const key = programKey(PROGRAM_VERSION, programBuild());
  const found = await read.entries.current('program-version', key);
  if (!found) return told(false, ACCEPTANCE.none);
  const { conclusion, limits, approval } = found.body;
  if (conclusion === 'not accepted') return told(false, ACCEPTANCE.notAccepted);
  const { digest } = revisionSubject(found);
  const statements = (await read.signatures.on([digest])).map(({ signed }) => signed.statement);
  const signature = statements.find(({ meaning }) => meaning === 'approved');
  const under = limits === undefined ? '' : ACCEPTANCE.limits(limits);
  if (signature)
    return told(true, ACCEPTANCE.signed(conclusion, signature.person.name, signature.at.slice(0, 10), under));
  if (approval?.original !== undefined) return told(true, ACCEPTANCE.elsewhere(approval.by, approval.at, under));
  return told(false, ACCEPTANCE.notSigned(conclusion));
}
