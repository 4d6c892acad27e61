import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import path from 'node:path';
import { temporaryFolder } from './cell.js';

const CONFIG = `
[tsa]
default_tsa = own
[own]
serial = ./serial
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256, sha512
ess_cert_id_alg = sha256
[stamping]
basicConstraints = critical,CA:FALSE
keyUsage = critical,digitalSignature
extendedKeyUsage = critical,timeStamping
[other]
basicConstraints = critical,CA:FALSE
keyUsage = critical,digitalSignature
`;

/** An authority for time stamps that OpenSSL plays, with a root certificate of its own. */
export class TimeAuthority {
  private readonly folder = temporaryFolder('time-authority');
  private server: Server | undefined;

  /** @param extensions of its certificate: `other` is for no time stamps. */
  constructor(extensions: 'stamping' | 'other' = 'stamping') {
    this.write('tsa.cnf', CONFIG);
    this.write('serial', '01\n');
    this.openssl('ecparam', '-name', 'prime256v1', '-genkey', '-noout', '-out', 'root.key');
    const root = ['-subj', '/CN=Invented Root of Times', '-days', '3650', '-out', 'root.pem'];
    this.openssl('req', '-x509', '-new', '-key', 'root.key', ...root, '-addext', 'basicConstraints=critical,CA:TRUE');
    this.openssl('ecparam', '-name', 'prime256v1', '-genkey', '-noout', '-out', 'own.key');
    this.openssl('req', '-new', '-key', 'own.key', '-subj', '/CN=Invented Authority', '-out', 'own.csr');
    const issued = ['-CA', 'root.pem', '-CAkey', 'root.key', '-set_serial', '7', '-days', '3650', '-out', 'own.pem'];
    this.openssl('x509', '-req', '-in', 'own.csr', ...issued, '-extfile', 'tsa.cnf', '-extensions', extensions);
  }

  /** Path of the certificate that others trust. */
  get root(): string {
    return path.join(this.folder, 'root.pem');
  }

  /** What `openssl ts -reply` answers to a request. */
  reply(request: Buffer): Buffer {
    this.write('request.tsq', request);
    const signed = ['-signer', 'own.pem', '-inkey', 'own.key', '-out', 'answer.tsr'];
    this.openssl('ts', '-reply', '-config', 'tsa.cnf', '-queryfile', 'request.tsq', ...signed);
    return fs.readFileSync(path.join(this.folder, 'answer.tsr'));
  }

  /** Whether OpenSSL takes a token for a text. */
  accepts(token: Buffer, text: string): boolean {
    this.write('token.der', token);
    this.write('text', text);
    try {
      this.openssl('ts', '-verify', '-in', 'token.der', '-token_in', '-data', 'text', '-CAfile', 'root.pem');
      return true;
    } catch {
      return false;
    }
  }

  /** Answers by HTTP as RFC 3161, 3.4 has it. @returns its address. */
  async listen(): Promise<string> {
    this.server = createServer(async (request, response) => {
      const chunks: Buffer[] = [];
      for await (const chunk of request) chunks.push(chunk as Buffer);
      response.setHeader('content-type', 'application/timestamp-reply');
      response.end(this.reply(Buffer.concat(chunks)));
    });
    await new Promise<void>((resolve) => this.server!.listen(0, '127.0.0.1', resolve));
    return `http://127.0.0.1:${(this.server.address() as AddressInfo).port}/`;
  }

  close(): void {
    this.server?.close();
  }

  private write(name: string, content: string | Buffer): void {
    fs.writeFileSync(path.join(this.folder, name), content);
  }

  private openssl(...words: string[]): void {
    execFileSync('openssl', words, { cwd: this.folder, stdio: 'pipe' });
  }
}
