import type { SaxesTagNS } from 'saxes';
import { BadInputError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { readStrictXml } from '../base/strict-xml.js';
import type { QifUnit } from './qif-units.js';

/** One value that a file of QIF holds. */
export interface QifValue {
  /** Name of the characteristic item, else its designator, else its identifier. */
  readonly name: string;
  /** Identifier of the characteristic item. */
  readonly item: string;
  /** Of the actual component; empty where the file names none, or several. */
  readonly serialNumber: string;
  /** When it was measured, as it is written; empty where the file does not say. */
  readonly timeStamp: string;
  readonly value: string;
  readonly combinedUncertainty: string;
  /** By the name that the value itself gives; empty for the primary unit of its sort. */
  readonly unitName: string;
  readonly line: number;
}

export interface QifResults {
  /** Of each characteristic item, whether or not it has a value. */
  readonly names: readonly string[];
  readonly values: readonly QifValue[];
  readonly units: readonly QifUnit[];
}

/** Namespaces, and how the versions begin that are written in them. */
const NAMESPACES: ReadonlyMap<string, string> = new Map([
  ['http://qifstandards.org/xsd/qif3', '3.'],
  ['http://qifstandards.org/xsd/qif2', '2.'],
]);
/** What of a measurement is read. */
const MEASURED_PARTS: ReadonlyMap<string, 'item' | 'component' | 'timeStamp' | 'value'> = new Map([
  ['CharacteristicItemId', 'item'],
  ['ActualComponentId', 'component'],
  ['TimeStamp', 'timeStamp'],
  ['Value', 'value'],
]);
/** Attributes by which a value names its unit. */
const UNIT_ATTRIBUTES = [
  'linearUnit',
  'angularUnit',
  'forceUnit',
  'massUnit',
  'pressureUnit',
  'temperatureUnit',
  'timeUnit',
];
/** A longer text is none that is read. */
const LONGEST = 2000;

interface OpenResults {
  readonly components: string[];
  end: string;
}

interface Measured {
  item: string;
  component: string;
  timeStamp: string;
  value: string;
  combinedUncertainty: string;
  unitName: string;
  readonly line: number;
}

/**
 * Results by the Quality Information Framework (ISO 23952:2020, QIF 3.0, and QIF 2.0 and 2.1 before it), read as a stream:
 * of everything else in the file, and of other namespaces, nothing is kept.
 * @throws BadInputError with the line for what is no QIF or no well-formed XML, for a value whose characteristic is not
 *   there, and for more values than a sheet may have rows.
 */
export function readQif(file: string, bytes: Uint8Array): QifResults {
  return new QifReader(file).read(bytes);
}

class QifReader {
  private line = 1;
  private readonly path: string[] = [];
  /** Of each open element, the first that stands in it, of whatever namespace. */
  private readonly inside: (string | undefined)[] = [];
  /** Namespace of the root: nothing of another one is read. */
  private namespace = '';
  /** So many elements are open of another namespace, or in one of it. */
  private foreign = 0;
  private text = '';
  private readonly items = new Map<string, { name: string; designator: string }>();
  private readonly serials = new Map<string, string>();
  private readonly units: QifUnit[] = [];
  private readonly found: (Measured & { readonly within: OpenResults })[] = [];
  private item = '';
  private component = '';
  private unit: { name: string; si: string; factor: number; offset: number } | undefined;
  private measured: Measured | undefined;
  private results: OpenResults | undefined;

  constructor(private readonly file: string) {}

  read(bytes: Uint8Array): QifResults {
    readStrictXml(bytes, {
      root: 'QIFDocument',
      namespaces: [...NAMESPACES.keys()],
      expected: `a QIFDocument of ${[...NAMESPACES.keys()].join(' or ')}`,
      refuse: (line, found, expected) => this.refuse(found, expected, line),
      enter: (tag, line) => {
        this.line = line;
        this.enter(tag);
      },
      leave: (local) => this.leave(local),
      text: (text) => {
        // What is cut off here is refused where it is read.
        if (this.foreign === 0 && this.text.length <= LONGEST) this.text += text.slice(0, LONGEST + 1);
      },
    });
    const names = [...this.items.keys()].map((id) => this.nameOf(id));
    return { names, units: this.units, values: this.found.map((one) => this.valueOf(one)) };
  }

  private enter({ local, uri, attributes }: SaxesTagNS): void {
    const said = (attribute: string) => attributes[attribute]?.value ?? '';
    if (this.path.length === 0) this.compareVersions(uri, said('versionQIF'));
    else if (this.foreign === 0) this.inside[this.inside.length - 1] ??= local;
    if (this.foreign > 0 || uri !== this.namespace) {
      this.foreign += 1;
      return;
    }
    this.text = '';
    const parent = this.path.at(-1);
    this.path.push(local);
    this.inside.push(undefined);
    if (local.endsWith('CharacteristicItem') && parent === 'CharacteristicItems') {
      this.item = said('id');
      this.items.set(this.item, { name: '', designator: '' });
    } else if (local === 'ActualComponent') this.component = said('id');
    else if (parent === 'PrimaryUnits' || parent === 'OtherUnits')
      this.unit = { name: '', si: '', factor: 1, offset: 0 };
    else if (local === 'MeasurementResults') this.results = { components: [], end: '' };
    else if (parent === 'CharacteristicMeasurements') {
      const { line } = this;
      this.measured = {
        item: '',
        component: '',
        timeStamp: '',
        value: '',
        combinedUncertainty: '',
        unitName: '',
        line,
      };
    } else if (local === 'Value' && this.measured && this.isChildOf('CharacteristicMeasurements')) {
      this.measured.combinedUncertainty = said('combinedUncertainty');
      const [unit = '', ...others] = UNIT_ATTRIBUTES.map(said).filter((one) => one !== '');
      if (others.length > 0) this.refuse(`a value in ${[unit, ...others].join(' and in ')}`, 'one unit');
      this.measured.unitName = unit;
    }
  }

  /** A document is read by its namespace, and says its version besides. */
  private compareVersions(namespace: string, said: string): void {
    this.namespace = namespace;
    const begins = NAMESPACES.get(namespace)!;
    if (said !== '' && !said.startsWith(begins))
      this.refuse(`version ${quoted(said)} in a document of ${namespace}`, `a version ${begins}x, or its namespace`);
  }

  /** Whether what was entered or left last is a child of a child of this. */
  private isChildOf(grandparent: string): boolean {
    return this.path.at(-3) === grandparent;
  }

  private leave(local: string): void {
    if (this.foreign > 0) {
      this.foreign -= 1;
      return;
    }
    const said = this.saidIn(local);
    this.text = '';
    const parent = this.path.at(-2);
    if (this.measured && this.isChildOf('CharacteristicMeasurements')) this.leavePart(this.measured, local, said);
    else if (this.measured && parent === 'CharacteristicMeasurements') this.leaveMeasured(this.measured);
    else if (this.unit) this.leaveUnit(this.unit, local, said, parent);
    else if (local === 'Name' && this.isChildOf('CharacteristicItems')) this.items.get(this.item)!.name = said();
    else if (local === 'Designator' && this.path.at(-4) === 'CharacteristicItems')
      this.items.get(this.item)!.designator = said();
    else if (local === 'SerialNumber' && parent === 'ActualComponent') this.leaveSerial(said());
    else if (this.results) this.leaveResults(this.results, local, said, parent);
    this.path.pop();
    this.inside.pop();
  }

  /** The text of an element, asked where it is read. On both sides of an element it would be two texts. */
  private saidIn(local: string): () => string {
    const [text, inside] = [this.text, this.inside.at(-1)];
    return () => {
      if (inside !== undefined) this.refuse(`an element ${inside} inside ${local}`, 'text alone');
      if (text.length > LONGEST) this.refuse(`more than ${LONGEST} characters in ${local}`, 'fewer');
      return text.trim();
    };
  }

  private leaveSerial(serial: string): void {
    const { component } = this;
    if (this.serials.has(component)) this.refuse(`SerialNumber a second time in component ${component}`, 'one');
    this.serials.set(component, serial);
  }

  private leavePart(measured: Measured, local: string, said: () => string): void {
    const part = MEASURED_PARTS.get(local);
    if (part === undefined) return;
    if (measured[part] !== '') this.refuse(`${local} a second time in one measurement`, 'one');
    measured[part] = said();
  }

  private leaveMeasured(measured: Measured): void {
    this.measured = undefined;
    // What was not measured, or only passed, has no value.
    if (measured.value === '') return;
    if (this.found.length === MOST.sheetRows) this.refuse(`more than ${MOST.sheetRows} values`, 'fewer in one file');
    this.found.push({ ...measured, within: this.results ?? { components: [], end: '' } });
  }

  private leaveUnit(
    unit: NonNullable<QifReader['unit']>,
    local: string,
    said: () => string,
    parent: string | undefined,
  ): void {
    if (local === 'SIUnitName') unit.si = said();
    else if (local === 'UnitName') unit.name = said();
    else if (local === 'Factor') unit.factor = this.number(said());
    else if (local === 'Offset') unit.offset = this.number(said());
    else if (parent === 'PrimaryUnits' || parent === 'OtherUnits') {
      this.units.push({ ...unit, isPrimary: parent === 'PrimaryUnits' });
      this.unit = undefined;
    }
  }

  private leaveResults(results: OpenResults, local: string, said: () => string, parent: string | undefined): void {
    if (local === 'Id' && parent === 'ActualComponentIds') results.components.push(said());
    else if (local === 'InspectionEnd') {
      const text = said();
      // By its schema a time of Greenwich, whether or not it says so.
      results.end = /(?:Z|[+-]\d\d:\d\d)$/.test(text) ? text : `${text}Z`;
    } else if (local === 'MeasurementResults') this.results = undefined;
  }

  private valueOf({
    within,
    item: id,
    component,
    timeStamp,
    ...rest
  }: Measured & { readonly within: OpenResults }): QifValue {
    if (!this.items.has(id)) {
      const expected = 'a characteristic item for each value';
      return this.refuse(`a value of the characteristic ${id}, which is not there`, expected, rest.line);
    }
    const [only, ...others] = within.components;
    const part = component !== '' ? component : others.length === 0 ? (only ?? '') : '';
    return {
      ...rest,
      item: id,
      name: this.nameOf(id),
      serialNumber: this.serials.get(part) ?? '',
      timeStamp: timeStamp || within.end,
    };
  }

  private nameOf(id: string): string {
    const { name, designator } = this.items.get(id)!;
    return name || designator || id;
  }

  private number(text: string): number {
    const value = Number(text);
    return text !== '' && Number.isFinite(value) ? value : this.refuse(`the factor or offset "${text}"`, 'a number');
  }

  private refuse(found: string, expected: string, line = this.line): never {
    const remedy = 'export the results again as QIF, or as CSV with a profile for it';
    throw new BadInputError([{ code: 'qif', file: this.file, line, found, expected, remedy }]);
  }
}

const quoted = (text: string): string => `"${text.slice(0, 60)}"`;
