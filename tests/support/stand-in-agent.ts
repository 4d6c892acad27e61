import http from 'node:http';
import type { AddressInfo } from 'node:net';
import { type MadeObservation, sample, streamsDocument } from './mtconnect-maker.js';

/**
 * An agent that holds what a machine observed, and answers as MTConnect Part 1 says: `current` with the newest of each data
 * item, `sample` with what comes from a sequence number on, streamed where an interval is asked for (multipart/
 * x-mixed-replace, an empty document as heartbeat), and OUT_OF_RANGE for a number that it does not hold.
 */
export class StandInAgent {
  instance = '1700000000';
  /** How a client is cut off in the midst of a document: after so many bytes of an answer. */
  cutAfter = Number.POSITIVE_INFINITY;
  /** One document for each request, as an agent without streaming gives it. */
  isPlain = false;
  /** What an agent that contradicts itself makes of a document. */
  spoil = (document: string): string => document;
  readonly requests: string[] = [];
  private held: MadeObservation[] = [];
  private next = 1;
  private server: http.Server | undefined;
  private port = 0;

  constructor(private readonly holds = 1000) {}

  get url(): string {
    return `http://127.0.0.1:${this.port}`;
  }

  get nextSequence(): number {
    return this.next;
  }

  observe(count: number): void {
    for (let one = 0; one < count; one += 1, this.next += 1) {
      const at = new Date(Date.parse('2031-03-03T07:00:00Z') + this.next * 10).toISOString();
      this.held.push(sample(`item${this.next % 7}`, at, this.next, String(this.next)));
    }
    this.held = this.held.slice(-this.holds);
  }

  /** As after a power cut: numbers begin anew. */
  beginAnew(): void {
    this.instance = String(Number(this.instance) + 1);
    this.held = [];
    this.next = 1;
  }

  async start(): Promise<void> {
    this.server = http.createServer((request, response) => this.answer(request.url!, response));
    await new Promise<void>((done) => this.server!.listen(this.port, '127.0.0.1', done));
    this.port = (this.server.address() as AddressInfo).port;
  }

  /** Whoever listens is cut off. */
  async stop(): Promise<void> {
    const { server } = this;
    this.server = undefined;
    server?.closeAllConnections();
    await new Promise((done) => (server ? server.close(done) : done(null)));
  }

  private get first(): number {
    return this.held[0]?.sequence ?? this.next;
  }

  private answer(url: string, response: http.ServerResponse): void {
    this.requests.push(url);
    const { pathname, searchParams } = new URL(url, this.url);
    const from = Number(searchParams.get('from') ?? this.first);
    if (pathname === '/current') {
      const newest = new Map(this.held.map((one) => [one.dataItemId, one]));
      this.whole(response, this.document([...newest.values()], this.next));
    } else if (pathname !== '/sample') response.writeHead(404).end();
    else if (from < this.first || from > this.next) this.whole(response, OUT_OF_RANGE);
    else if (this.isPlain) this.whole(response, this.from(from, Number(searchParams.get('count'))).text);
    else this.stream(response, from, searchParams);
  }

  private document(observations: MadeObservation[], nextSequence: number): string {
    const header = { firstSequence: this.first, nextSequence, instanceId: this.instance, version: '1.8' };
    return this.spoil(streamsDocument({ observations, ...header }));
  }

  private from(from: number, count: number): { text: string; next: number } {
    const found = this.held.filter(({ sequence }) => sequence >= from).slice(0, count);
    const next = (found.at(-1)?.sequence ?? from - 1) + 1;
    return { text: this.document(found, next), next };
  }

  private whole(response: http.ServerResponse, text: string): void {
    response.setHeader('content-type', 'text/xml');
    if (text.length > this.cutAfter) {
      response.write(text.slice(0, this.cutAfter), () => response.destroy());
      return;
    }
    response.end(text);
  }

  private stream(response: http.ServerResponse, begin: number, asked: URLSearchParams): void {
    response.setHeader('content-type', 'multipart/x-mixed-replace;boundary=a1b2');
    let [from, sent, toldAt] = [begin, 0, 0];
    const timer = setInterval(
      () => {
        if (from < this.first) {
          clearInterval(timer);
          this.part(response, OUT_OF_RANGE);
          response.end();
          return;
        }
        const { text, next } = this.from(from, Number(asked.get('count')));
        if (next === from && Date.now() - toldAt < Number(asked.get('heartbeat'))) return;
        [from, toldAt] = [next, Date.now()];
        sent += this.part(response, text, this.cutAfter - sent);
        if (sent >= this.cutAfter) response.destroy();
      },
      Number(asked.get('interval')),
    );
    response.on('close', () => clearInterval(timer));
  }

  private part(response: http.ServerResponse, text: string, most = Number.POSITIVE_INFINITY): number {
    const part = `--a1b2\r\nContent-type: text/xml\r\nContent-length: ${Buffer.byteLength(text)}\r\n\r\n${text}\r\n`;
    const sent = part.slice(0, most);
    response.write(sent);
    return sent.length;
  }
}

const OUT_OF_RANGE = `<?xml version="1.0" encoding="UTF-8"?>
<MTConnectError xmlns="urn:mtconnect.org:MTConnectError:1.8"><Header creationTime="2031-03-03T07:00:00Z"
sender="a" instanceId="1" version="1.8" bufferSize="10"/><Errors><Error errorCode="OUT_OF_RANGE">'from' is out of
range</Error></Errors></MTConnectError>
`;
