import type { StatementChanges } from '../../assessment/family/compare-statements.js';
import type { CapabilityStatement } from '../../assessment/family/statement.js';
import type { CapabilityEnclosure } from './enclosure.js';

/** What is drawn. */
export interface CapabilityView {
  readonly statement: CapabilityStatement;
  readonly changes: StatementChanges | null;
  readonly enclosure: CapabilityEnclosure;
}
