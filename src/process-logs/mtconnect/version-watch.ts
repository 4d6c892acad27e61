import { otherVersion } from '../../kinds/stream-versions.js';
import { everywhere, type FindingDraft, placeFinding } from '../findings.js';
import type { StreamHeader } from './observation.js';

/** So many pairs of versions are told: a stream that names more names any. */
const MOST_VERSIONS = 20;

/** Tells where the header of a document names another version than its namespace, by which it is read: once for each pair. */
export class VersionWatch {
  private readonly told = new Set<string>();

  constructor(private readonly found: (draft: FindingDraft) => void) {}

  compare({ saidVersion, version, line }: StreamHeader): void {
    const said = otherVersion(saidVersion, version);
    const both = `${said} ${version}`;
    if (said === null || this.told.has(both) || this.told.size === MOST_VERSIONS) return;
    this.told.add(both);
    const what = { code: 'version', said, readBy: version } as const;
    this.found(
      placeFinding('stream names two versions', 'alert', everywhere(), { lineFrom: line, lineTo: line, what }),
    );
  }
}
