/**
 * MTConnectStreams documents, written from the definitions of the published schema MTConnectStreams_1.4.xsd (repository
 * mtconnect/schema of the MTConnect Institute; ANSI/MTC1.4): StreamsType → DeviceStream (name, uuid) → ComponentStream
 * (component, componentId, name) → Samples, Events, Condition; an observation has dataItemId, timestamp and sequence
 * (ObservationType), and its value is text or UNAVAILABLE. Conditions are Normal, Warning, Fault and Unavailable with
 * `type` and an optional nativeCode.
 */

export interface MadeObservation {
  readonly category: 'Samples' | 'Events' | 'Condition';
  readonly element: string;
  readonly dataItemId: string;
  readonly timestamp: string;
  readonly sequence: number;
  readonly value?: string;
  readonly more?: Readonly<Record<string, string>>;
}

export interface MadeDocument {
  readonly observations: readonly MadeObservation[];
  readonly firstSequence?: number;
  readonly nextSequence?: number;
  readonly instanceId?: string;
  /** Of the standard and its schema. */
  readonly version?: string;
}

export const sample = (dataItemId: string, timestamp: string, sequence: number, value: string): MadeObservation => ({
  category: 'Samples',
  element: 'Concentration',
  dataItemId,
  timestamp,
  sequence,
  value,
});

export const event = (
  element: string,
  dataItemId: string,
  timestamp: string,
  sequence: number,
  value: string,
): MadeObservation => ({ category: 'Events', element, dataItemId, timestamp, sequence, value });

export const condition = (
  element: 'Normal' | 'Warning' | 'Fault' | 'Unavailable',
  dataItemId: string,
  timestamp: string,
  sequence: number,
  more: Readonly<Record<string, string>> = {},
  value = '',
): MadeObservation => ({
  category: 'Condition',
  element,
  dataItemId,
  timestamp,
  sequence,
  value,
  more: { type: 'SYSTEM', ...more },
});

/** One document. Observations are grouped by category, as the schema orders them, and not by time. */
export function streamsDocument({ observations, ...header }: MadeDocument): string {
  const sequences = observations.map(({ sequence }) => sequence);
  const last = Math.max(1, ...sequences);
  const { firstSequence = Math.min(...sequences, last), nextSequence = last + 1, instanceId = '1267728234' } = header;
  const { version = '1.4' } = header;
  const groups = (['Samples', 'Events', 'Condition'] as const).map((category) => {
    const own = observations.filter((observation) => observation.category === category);
    return own.length === 0 ? '' : `        <${category}>\n${own.map(elementText).join('')}        </${category}>\n`;
  });
  return `<?xml version="1.0" encoding="UTF-8"?>
<MTConnectStreams xmlns:m="urn:mtconnect.org:MTConnectStreams:${version}" xmlns="urn:mtconnect.org:MTConnectStreams:${version}">
  <Header creationTime="2031-03-03T07:00:00Z" sender="cell-1" instanceId="${instanceId}" version="${version}.0" bufferSize="131072" firstSequence="${firstSequence}" lastSequence="${last}" nextSequence="${nextSequence}"/>
  <Streams>
    <DeviceStream name="cell" uuid="cell-1-0001">
      <ComponentStream component="Device" name="cell" componentId="d1">
${groups.join('')}      </ComponentStream>
    </DeviceStream>
  </Streams>
</MTConnectStreams>
`;
}

function elementText({ element, dataItemId, timestamp, sequence, value = '', more = {} }: MadeObservation): string {
  const attributes = { dataItemId, timestamp, sequence: String(sequence), ...more };
  const text = Object.entries(attributes).map(([name, given]) => ` ${name}="${given}"`);
  return `          <${element}${text.join('')}>${value}</${element}>\n`;
}
