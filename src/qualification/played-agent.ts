import http from 'node:http';
import type { AddressInfo } from 'node:net';

/** One observation of a machine, as MTConnect tells it (Part 1, Observation). */
export interface Observed {
  readonly category: 'Samples' | 'Events';
  /** Component that it belongs to, by its element and name. */
  readonly component: string;
  readonly name: string;
  /** Name of the element by its type, such as Wattage. */
  readonly element: string;
  readonly dataItem: string;
  readonly atMs: number;
  readonly value: string;
}

export interface PlayedMachine {
  readonly device: string;
  /** When the agent was started, in seconds: it tells so. */
  readonly instance: string;
  /** In order of time; each gets the next sequence number, from 1 on. */
  readonly observed: readonly Observed[];
  readonly fromMs: number;
  readonly untilMs: number;
  /** How far its clock goes on whenever it has nothing new to tell. */
  readonly stepMs: number;
}

const VERSION = '2.1';

/**
 * The agent of an invented machine: it answers `current` and `sample` as MTConnect Part 1 says, one document at a time, on
 * this machine alone. Its time is played: nobody waits for it, each request that finds nothing new moves its clock on.
 */
export class PlayedAgent {
  private readonly all: readonly Numbered[];
  private nowMs: number;
  private server: http.Server | undefined;
  private told: () => void = () => {};
  /** Once whoever listens has asked for what comes behind the last of all. */
  readonly over = new Promise<void>((done) => {
    this.told = done;
  });

  constructor(private readonly machine: PlayedMachine) {
    this.all = machine.observed.map((one, index) => ({ ...one, sequence: index + 1 }));
    this.nowMs = machine.fromMs;
  }

  /** By its own clock. */
  readonly now = (): Date => new Date(this.nowMs);

  /** @returns its address. */
  async start(): Promise<string> {
    const server = http.createServer((request, response) => {
      const { pathname, searchParams } = new URL(request.url ?? '/', 'http://agent');
      const text = this.answer(pathname, searchParams);
      response.writeHead(text === undefined ? 404 : 200, { 'content-type': 'text/xml' }).end(text);
    });
    this.server = server;
    await new Promise<void>((done, fail) => server.once('error', fail).listen(0, '127.0.0.1', done));
    return `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
  }

  async stop(): Promise<void> {
    const { server } = this;
    server?.closeAllConnections();
    await new Promise((done) => (server ? server.close(done) : done(null)));
  }

  private answer(request: string, asked: URLSearchParams): string | undefined {
    if (request === '/current') return this.document(newest(this.happened()), this.happened().length + 1);
    if (request !== '/sample') return undefined;
    const from = Number(asked.get('from'));
    if (from > this.happened().length) this.goOn(from);
    const found = this.happened().slice(from - 1, from - 1 + Number(asked.get('count')));
    return this.document(found, from + found.length);
  }

  private goOn(from: number): void {
    const { untilMs, stepMs } = this.machine;
    if (from > this.all.length) this.told();
    this.nowMs = Math.min(untilMs, this.nowMs + stepMs);
  }

  private happened(): Numbered[] {
    return this.all.filter(({ atMs }) => atMs <= this.nowMs);
  }

  private document(found: readonly Numbered[], nextSequence: number): string {
    const { device, instance } = this.machine;
    const time = this.now().toISOString();
    const lastSequence = this.happened().length;
    const places = [...new Set(found.map(({ component, name }) => `${component} ${name}`))].sort();
    return [
      '<?xml version="1.0" encoding="UTF-8"?>',
      `<MTConnectStreams xmlns="urn:mtconnect.org:MTConnectStreams:${VERSION}">`,
      `<Header version="${VERSION}.0.0" creationTime="${time}" deviceModelChangeTime="${this.begun()}" instanceId="${instance}" sender="agent" bufferSize="131072" nextSequence="${nextSequence}" lastSequence="${lastSequence}" firstSequence="1"/>`,
      '<Streams>',
      `<DeviceStream name="${device}" uuid="${device}-demo">`,
      ...places.flatMap((place) => streamOf(place, found)),
      '</DeviceStream>',
      '</Streams>',
      '</MTConnectStreams>',
      '',
    ].join('\n');
  }

  private begun(): string {
    return new Date(1000 * Number(this.machine.instance)).toISOString();
  }
}

type Numbered = Observed & { readonly sequence: number };

/** The last of each data item. */
const newest = (all: readonly Numbered[]): Numbered[] => [...new Map(all.map((one) => [one.dataItem, one])).values()];

/** Grouped by category, as the schema orders them, and not by time. */
function streamOf(place: string, found: readonly Numbered[]): string[] {
  const [component = '', name = ''] = place.split(' ');
  const own = found.filter((one) => one.component === component && one.name === name);
  const groups = (['Samples', 'Events'] as const).flatMap((category) => {
    const items = own.filter((one) => one.category === category);
    return items.length === 0 ? [] : [`<${category}>`, ...items.map(elementOf), `</${category}>`];
  });
  const head = `<ComponentStream component="${component}" name="${name}" componentId="c-${name}">`;
  return [head, ...groups, '</ComponentStream>'];
}

const elementOf = ({ element, dataItem, atMs, sequence, value }: Numbered): string =>
  `<${element} dataItemId="${dataItem}" timestamp="${new Date(atMs).toISOString()}" sequence="${sequence}">${value}</${element}>`;
