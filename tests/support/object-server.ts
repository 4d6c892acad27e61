import { createHash } from 'node:crypto';
import http from 'node:http';
import type { AddressInfo } from 'node:net';
import aws4 from 'aws4';
import { escapeXml } from '../../src/base/xml-text.js';

const NAMESPACE = 'http://s3.amazonaws.com/doc/2006-03-01/';
const SKEW_MS = 15 * 60_000;
/** Every part but the last has so many bytes. */
const LEAST_PART = 5 << 20;
const REGION = 'eu-test-1';
export const BUCKET = 'evidence';

interface Version {
  readonly id: string;
  readonly bytes: Buffer;
  readonly headers: Readonly<Record<string, string>>;
  readonly lockedUntil: string | undefined;
  /** Of a part-wise one: over the digests of its parts. */
  readonly checksum: string;
  readonly isMark: boolean;
}

interface PartWise {
  readonly key: string;
  readonly headers: Readonly<Record<string, string>>;
  readonly begunAt: string;
  readonly parts: Map<number, { readonly bytes: Buffer; readonly sha256: string; readonly etag: string }>;
}

interface Asked {
  readonly method: string;
  readonly key: string;
  readonly query: URLSearchParams;
  readonly headers: http.IncomingHttpHeaders;
  readonly body: Buffer;
}

class Refusal extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
  ) {
    super(code);
  }
}

const digest = (bytes: Uint8Array, form: 'hex' | 'base64', sort = 'sha256') =>
  createHash(sort).update(bytes).digest(form);

/**
 * An object store for tests that speaks the S3 protocol strictly, in memory: as its public documentation has it, from memory. No
 * ready server of the package registry runs on this version of Node. Signatures are made again by another library than the
 * program signs with, and compared.
 */
export class ObjectServer {
  readonly objects = new Map<string, Version[]>();
  readonly uploads = new Map<string, PartWise>();
  /** Each request, as `PUT evidence/ab12…?partNumber=1`. */
  readonly log: string[] = [];
  credentials = {
    accessKeyId: 'cell-1',
    secretAccessKey: 'not-a-secret-of-anybody',
    sessionToken: undefined as string | undefined,
  };
  /** Credentials that this server took once. */
  expired: string[] = [];
  hasBucket = true;
  keepsVersions = false;
  keepsLocks = false;
  mayBypassLocks = true;
  mostBytes = Number.POSITIVE_INFINITY;
  clockAheadMs = 0;
  pageSize = 1000;
  /** Asked before anything else; what it gives back is done instead. */
  instead: ((asked: Asked, request: http.IncomingMessage, response: http.ServerResponse) => boolean) | undefined;
  private count = 0;
  private readonly server = http.createServer((request, response) => void this.answer(request, response));

  async listen(): Promise<void> {
    await new Promise<void>((resolve) => this.server.listen(0, '127.0.0.1', resolve));
  }

  get port(): number {
    return (this.server.address() as AddressInfo).port;
  }

  address(folder = 'cell', settings = ''): string {
    return `s3+http://127.0.0.1:${this.port}/${BUCKET}/${folder}?region=${REGION}${settings}`;
  }

  close(): Promise<unknown> {
    this.server.closeAllConnections();
    return new Promise((resolve) => this.server.close(resolve));
  }

  /** What is seen under a key now. */
  current(key: string): Version | undefined {
    const last = this.objects.get(key)?.at(-1);
    return last?.isMark ? undefined : last;
  }

  /** As whoever has the disks of the server can. */
  spoil(key: string, bytes: Buffer): void {
    const versions = this.objects.get(key)!;
    versions[versions.length - 1] = { ...versions.at(-1)!, bytes };
  }

  private async answer(request: http.IncomingMessage, response: http.ServerResponse): Promise<void> {
    const url = new URL(request.url!, 'http://host');
    const [, bucket, ...names] = url.pathname.split('/');
    const key = names.join('/');
    const pieces: Buffer[] = [];
    try {
      // A cut that a test makes comes before the rest of a body.
      const early = {
        method: request.method!,
        key,
        query: url.searchParams,
        headers: request.headers,
        body: Buffer.alloc(0),
      };
      this.log.push(`${request.method} ${key}${url.search}`);
      if (this.instead?.(early, request, response)) return;
      for await (const piece of request) pieces.push(piece as Buffer);
      const asked = { ...early, body: Buffer.concat(pieces) };
      this.checkSigned(request, asked);
      if (bucket !== BUCKET || !this.hasBucket) throw new Refusal(404, 'NoSuchBucket');
      this.act(asked, response);
    } catch (error) {
      if (response.headersSent || response.destroyed) return;
      const { status, code } = error instanceof Refusal ? error : new Refusal(500, 'InternalError');
      const xml = `<?xml version="1.0" encoding="UTF-8"?>\n<Error><Code>${code}</Code><Message>${code}</Message></Error>`;
      this.end(response, status, {}, request.method === 'HEAD' ? Buffer.alloc(0) : Buffer.from(xml));
    }
  }

  private end(response: http.ServerResponse, status: number, headers: Record<string, string>, body: Buffer): void {
    const date = new Date(Date.now() + this.clockAheadMs).toUTCString();
    response.writeHead(status, { 'content-length': String(body.length), ...headers, date }).end(body);
  }

  private xml(response: http.ServerResponse, root: string, inner: string): void {
    this.end(
      response,
      200,
      { 'content-type': 'application/xml' },
      Buffer.from(`<?xml version="1.0" encoding="UTF-8"?>\n<${root} xmlns="${NAMESPACE}">${inner}</${root}>`),
    );
  }

  private checkSigned(request: http.IncomingMessage, { body }: Asked): void {
    const { headers } = request;
    const found =
      /^AWS4-HMAC-SHA256 Credential=([^/]+)\/(\d{8})\/([\w-]+)\/s3\/aws4_request, SignedHeaders=([\w;-]+), Signature=([0-9a-f]{64})$/.exec(
        headers.authorization ?? '',
      );
    if (!found) throw new Refusal(400, 'AuthorizationHeaderMalformed');
    const [, keyId, , region, names] = found;
    if (this.expired.includes(keyId!)) throw new Refusal(400, 'ExpiredToken');
    if (keyId !== this.credentials.accessKeyId) throw new Refusal(403, 'InvalidAccessKeyId');
    if (headers['x-amz-security-token'] !== this.credentials.sessionToken) throw new Refusal(400, 'InvalidToken');
    if (region !== REGION) throw new Refusal(400, 'AuthorizationHeaderMalformed');
    const at = String(headers['x-amz-date']).replace(/^(....)(..)(..T..)(..)/, '$1-$2-$3:$4:');
    if (!(Math.abs(Date.parse(at) - Date.now() - this.clockAheadMs) <= SKEW_MS))
      throw new Refusal(403, 'RequestTimeTooSkewed');
    const signed = Object.fromEntries(names!.split(';').map((name) => [name, String(headers[name])]));
    for (const name of ['host', 'x-amz-date', 'x-amz-content-sha256'])
      if (!(name in signed)) throw new Refusal(403, 'AccessDenied');
    // Whatever of ours comes unsigned could have been put there by anybody.
    for (const name of Object.keys(headers))
      if (/^(x-amz-|if-)/.test(name) && !(name in signed)) throw new Refusal(403, 'AccessDenied');
    const again = aws4.sign(
      { service: 's3', region, method: request.method!, path: request.url!, headers: { ...signed } },
      { accessKeyId: this.credentials.accessKeyId, secretAccessKey: this.credentials.secretAccessKey },
    );
    if (again.headers!.Authorization !== headers.authorization) throw new Refusal(403, 'SignatureDoesNotMatch');
    if (digest(body, 'hex') !== headers['x-amz-content-sha256']) throw new Refusal(400, 'XAmzContentSHA256Mismatch');
    const checksum = headers['x-amz-checksum-sha256'];
    if (checksum !== undefined && checksum !== digest(body, 'base64')) throw new Refusal(400, 'BadDigest');
  }

  private act(asked: Asked, response: http.ServerResponse): void {
    const { method, key, query } = asked;
    const has = (name: string) => query.has(name);
    if (key === '') {
      if (method !== 'GET') throw new Refusal(405, 'MethodNotAllowed');
      if (has('uploads')) this.listUploads(asked, response);
      else if (has('versions')) this.listVersions(asked, response);
      else if (query.get('list-type') === '2') this.list(asked, response);
      else throw new Refusal(501, 'NotImplemented');
    } else if (method === 'PUT' && has('partNumber')) this.putPart(asked, response);
    else if (method === 'PUT') this.put(asked, response);
    else if (method === 'POST' && has('uploads')) this.begin(asked, response);
    else if (method === 'POST' && has('uploadId')) this.complete(asked, response);
    else if (method === 'GET' && has('uploadId')) this.listParts(asked, response);
    else if (method === 'GET' || method === 'HEAD') this.get(asked, response);
    else if (method === 'DELETE' && has('uploadId')) {
      if (!this.uploads.delete(query.get('uploadId')!)) throw new Refusal(404, 'NoSuchUpload');
      this.end(response, 204, {}, Buffer.alloc(0));
    } else if (method === 'DELETE') this.remove(asked, response);
    else throw new Refusal(405, 'MethodNotAllowed');
  }

  private checkNew({ key, headers }: Asked): void {
    const condition = headers['if-none-match'];
    if (condition !== undefined && condition !== '*') throw new Refusal(501, 'NotImplemented');
    if (condition === '*' && this.current(key)) throw new Refusal(412, 'PreconditionFailed');
  }

  private take(key: string, bytes: Buffer, headers: http.IncomingHttpHeaders, checksum: string): Version {
    const held = [...this.objects.values()].flat().reduce((sum, one) => sum + one.bytes.length, 0);
    if (held + bytes.length > this.mostBytes) throw new Refusal(507, 'InsufficientStorage');
    const mode = headers['x-amz-object-lock-mode'];
    if (mode !== undefined && !this.keepsLocks) throw new Refusal(400, 'InvalidRequest');
    const lockedUntil = headers['x-amz-object-lock-retain-until-date'] as string | undefined;
    if ((mode === undefined) !== (lockedUntil === undefined)) throw new Refusal(400, 'InvalidArgument');
    const own = Object.fromEntries(
      Object.entries(headers).filter(([name]) => name.startsWith('x-amz-meta-')),
    ) as Record<string, string>;
    this.count += 1;
    const id = this.keepsVersions ? `v${this.count}` : 'null';
    const version = { id, bytes, headers: own, lockedUntil, checksum, isMark: false };
    this.objects.set(key, this.keepsVersions ? [...(this.objects.get(key) ?? []), version] : [version]);
    return version;
  }

  private put(asked: Asked, response: http.ServerResponse): void {
    this.checkNew(asked);
    const checksum = digest(asked.body, 'base64');
    this.take(asked.key, asked.body, asked.headers, checksum);
    this.end(
      response,
      200,
      { etag: `"${digest(asked.body, 'hex', 'md5')}"`, 'x-amz-checksum-sha256': checksum },
      Buffer.alloc(0),
    );
  }

  private begin({ key, headers }: Asked, response: http.ServerResponse): void {
    if (headers['x-amz-checksum-algorithm'] !== 'SHA256') throw new Refusal(400, 'InvalidRequest');
    this.count += 1;
    const id = `upload-${this.count}`;
    this.uploads.set(id, {
      key,
      headers: headers as Record<string, string>,
      begunAt: new Date().toISOString(),
      parts: new Map(),
    });
    this.xml(
      response,
      'InitiateMultipartUploadResult',
      `<Bucket>${BUCKET}</Bucket><Key>${key}</Key><UploadId>${id}</UploadId>`,
    );
  }

  private upload({ key, query }: Asked): PartWise {
    const found = this.uploads.get(query.get('uploadId')!);
    if (found?.key !== key) throw new Refusal(404, 'NoSuchUpload');
    return found;
  }

  private putPart(asked: Asked, response: http.ServerResponse): void {
    const number = Number(asked.query.get('partNumber'));
    if (!(Number.isInteger(number) && number >= 1 && number <= 10_000)) throw new Refusal(400, 'InvalidArgument');
    if (asked.headers['x-amz-checksum-sha256'] === undefined) throw new Refusal(400, 'InvalidRequest');
    const part = {
      bytes: asked.body,
      sha256: digest(asked.body, 'base64'),
      etag: `"${digest(asked.body, 'hex', 'md5')}"`,
    };
    this.upload(asked).parts.set(number, part);
    this.end(response, 200, { etag: part.etag, 'x-amz-checksum-sha256': part.sha256 }, Buffer.alloc(0));
  }

  private complete(asked: Asked, response: http.ServerResponse): void {
    const upload = this.upload(asked);
    this.checkNew(asked);
    const named = [
      ...asked.body
        .toString('utf8')
        .replaceAll('&quot;', '"')
        .matchAll(
          /<Part><PartNumber>(\d+)<\/PartNumber><ETag>([^<]*)<\/ETag><ChecksumSHA256>([^<]*)<\/ChecksumSHA256><\/Part>/g,
        ),
    ];
    if (named.length === 0) throw new Refusal(400, 'MalformedXML');
    const parts = named.map(([, number, etag, sha256], index) => {
      const part = upload.parts.get(Number(number));
      if (part?.etag !== etag || part?.sha256 !== sha256) throw new Refusal(400, 'InvalidPart');
      if (Number(number) !== index + 1) throw new Refusal(400, 'InvalidPartOrder');
      if (part!.bytes.length < LEAST_PART && index < named.length - 1) throw new Refusal(400, 'EntityTooSmall');
      return part!;
    });
    const whole = digest(Buffer.concat(parts.map(({ sha256 }) => Buffer.from(sha256, 'base64'))), 'base64');
    const checksum = `${whole}-${parts.length}`;
    this.take(asked.key, Buffer.concat(parts.map(({ bytes }) => bytes)), upload.headers, checksum);
    this.uploads.delete(asked.query.get('uploadId')!);
    this.xml(
      response,
      'CompleteMultipartUploadResult',
      `<Key>${asked.key}</Key><ChecksumSHA256>${checksum}</ChecksumSHA256>`,
    );
  }

  private get({ method, key, headers }: Asked, response: http.ServerResponse): void {
    const found = this.current(key);
    if (!found) throw new Refusal(404, 'NoSuchKey');
    const etag = `"${digest(found.bytes, 'hex', 'md5')}"`;
    if (headers['if-match'] !== undefined && headers['if-match'] !== etag) throw new Refusal(412, 'PreconditionFailed');
    const range = /^bytes=(\d+)-$/.exec(headers.range ?? '');
    const from = Number(range?.[1] ?? 0);
    if (from > 0 && from >= found.bytes.length) throw new Refusal(416, 'InvalidRange');
    const bytes = found.bytes.subarray(from);
    const about = { ...found.headers, etag, 'content-length': String(bytes.length) };
    this.end(response, range ? 206 : 200, about, method === 'HEAD' ? Buffer.alloc(0) : bytes);
  }

  private remove({ key, query, headers }: Asked, response: http.ServerResponse): void {
    const versions = this.objects.get(key) ?? [];
    const id = query.get('versionId');
    if (id === null && this.keepsVersions) {
      this.count += 1;
      const mark = {
        id: `v${this.count}`,
        bytes: Buffer.alloc(0),
        headers: {},
        lockedUntil: undefined,
        checksum: '',
        isMark: true,
      };
      this.objects.set(key, [...versions, mark]);
    } else {
      const bypasses = headers['x-amz-bypass-governance-retention'] === 'true' && this.mayBypassLocks;
      for (const one of versions) {
        const isNamed = id === null || one.id === id;
        const isLocked = one.lockedUntil !== undefined && Date.parse(one.lockedUntil) > Date.now();
        if (isNamed && isLocked && !bypasses) throw new Refusal(403, 'AccessDenied');
      }
      const left = versions.filter((one) => id !== null && one.id !== id);
      if (left.length === 0) this.objects.delete(key);
      else this.objects.set(key, left);
    }
    this.end(response, 204, {}, Buffer.alloc(0));
  }

  /** One page of something, in the order of its keys. */
  private page<T>(all: readonly T[], keyOf: (one: T) => string, after: string): { own: T[]; next: string | undefined } {
    const sorted = [...all].sort((a, b) => (keyOf(a) < keyOf(b) ? -1 : 1)).filter((one) => keyOf(one) > after);
    const own = sorted.slice(0, this.pageSize);
    return { own, next: sorted.length > own.length ? keyOf(own.at(-1)!) : undefined };
  }

  private list({ query }: Asked, response: http.ServerResponse): void {
    const prefix = query.get('prefix') ?? '';
    const keys = [...this.objects.keys()].filter((key) => key.startsWith(prefix) && this.current(key));
    const { own, next } = this.page(keys, (key) => key, query.get('continuation-token') ?? '');
    const items = own.map(
      (key) => `<Contents><Key>${escapeXml(key)}</Key><Size>${this.current(key)!.bytes.length}</Size></Contents>`,
    );
    const more = next === undefined ? '' : `<NextContinuationToken>${escapeXml(next)}</NextContinuationToken>`;
    this.xml(response, 'ListBucketResult', `<IsTruncated>${next !== undefined}</IsTruncated>${more}${items.join('')}`);
  }

  private listVersions({ query }: Asked, response: http.ServerResponse): void {
    const prefix = query.get('prefix') ?? '';
    const all = [...this.objects].flatMap(([key, versions]) => versions.map((version) => ({ key, version })));
    const of = all.filter(({ key }) => key.startsWith(prefix));
    const idOf = ({ key, version }: (typeof of)[number]) => `${key} ${version.id}`;
    const marker = query.get('key-marker');
    const { own, next } = this.page(of, idOf, marker === null ? '' : `${marker} ${query.get('version-id-marker')}`);
    const items = own.map(({ key, version: { id, isMark } }) => {
      const kind = isMark ? 'DeleteMarker' : 'Version';
      return `<${kind}><Key>${key}</Key><VersionId>${id}</VersionId></${kind}>`;
    });
    const [nextKey, nextId] = next?.split(' ') ?? [];
    const more =
      next === undefined
        ? ''
        : `<NextKeyMarker>${nextKey}</NextKeyMarker><NextVersionIdMarker>${nextId}</NextVersionIdMarker>`;
    this.xml(
      response,
      'ListVersionsResult',
      `<IsTruncated>${next !== undefined}</IsTruncated>${more}${items.join('')}`,
    );
  }

  private listUploads({ query }: Asked, response: http.ServerResponse): void {
    const prefix = query.get('prefix') ?? '';
    const all = [...this.uploads].filter(([, { key }]) => key.startsWith(prefix));
    const { own, next } = this.page(all, ([id]) => id, query.get('upload-id-marker') ?? '');
    const items = own.map(
      ([id, { key, begunAt }]) =>
        `<Upload><Key>${key}</Key><UploadId>${id}</UploadId><Initiated>${begunAt}</Initiated></Upload>`,
    );
    const more =
      next === undefined ? '' : `<NextKeyMarker>x</NextKeyMarker><NextUploadIdMarker>${next}</NextUploadIdMarker>`;
    this.xml(
      response,
      'ListMultipartUploadsResult',
      `<IsTruncated>${next !== undefined}</IsTruncated>${more}${items.join('')}`,
    );
  }

  private listParts(asked: Asked, response: http.ServerResponse): void {
    const after = Number(asked.query.get('part-number-marker') ?? 0);
    const parts = [...this.upload(asked).parts].sort(([a], [b]) => a - b).filter(([number]) => number > after);
    const own = parts.slice(0, this.pageSize);
    const items = own.map(
      ([number, { bytes, sha256, etag }]) =>
        `<Part><PartNumber>${number}</PartNumber><ETag>${escapeXml(etag)}</ETag><Size>${bytes.length}</Size><ChecksumSHA256>${sha256}</ChecksumSHA256></Part>`,
    );
    const isCut = parts.length > own.length;
    const more = isCut ? `<NextPartNumberMarker>${own.at(-1)![0]}</NextPartNumberMarker>` : '';
    this.xml(response, 'ListPartsResult', `<IsTruncated>${isCut}</IsTruncated>${more}${items.join('')}`);
  }
}

/** The key of a name below the folder that tests take. */
export const keyOf = (name: string, folder = 'cell'): string => `${folder}/${name}`;
