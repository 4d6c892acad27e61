import { PROGRAM_VERSION, programBuild, programName } from '../base/settings.js';
import { revisionSubject } from '../dossier/signable.js';
import { programKey } from '../kinds/program-version.js';
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
  if (!found) return told(false, 'this build is not accepted yet: take a program-version document in and sign it');
  const { conclusion, limits, approval } = found.body;
  if (conclusion === 'not accepted') return told(false, 'the cell has looked at this build and not accepted it');
  const { digest } = revisionSubject(found);
  const statements = (await read.signatures.on([digest])).map(({ signed }) => signed.statement);
  const signature = statements.find(({ meaning }) => meaning === 'approved');
  const under = limits === undefined ? '' : `, with limits: ${limits}`;
  if (signature) return told(true, `${conclusion} by ${signature.person.name} on ${signature.at.slice(0, 10)}${under}`);
  if (approval?.original !== undefined)
    return told(true, `approved elsewhere by ${approval.by} on ${approval.at}${under}`);
  return told(false, `${conclusion}, but nobody has signed it`);
}
