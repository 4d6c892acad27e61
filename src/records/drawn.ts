import { type CapabilityContent, renderCapability } from './capability/render.js';
import { type RecordContent, type RenderedRecord, renderRecord } from './render-record.js';

/** The record of a lot, or the paper of a capability statement. */
export type Content = RecordContent | CapabilityContent;

/** @throws as `renderRecord`. */
export const drawn = (content: Content): Promise<RenderedRecord> =>
  'statementText' in content ? renderCapability(content) : renderRecord(content);
