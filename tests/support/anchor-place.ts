import http from 'node:http';
import type { AddressInfo } from 'node:net';

/** A second place of the anchor that keeps lines: those that came, or whatever a test lets it answer instead. */
export class AnchorPlace {
  lines: string[] = [];
  posts = 0;
  instead: ((response: http.ServerResponse) => void) | undefined;
  private readonly server = http.createServer((asked, response) => {
    if (this.instead) {
      this.instead(response);
      return;
    }
    if (asked.method === 'GET') {
      response
        .writeHead(this.lines.length === 0 ? 404 : 200, { 'content-type': 'text/plain' })
        .end(this.lines.join(''));
      return;
    }
    let line = '';
    asked.setEncoding('utf8').on('data', (text: string) => {
      line += text;
    });
    asked.on('end', () => {
      this.posts += 1;
      this.lines.push(line);
      response.writeHead(201).end();
    });
  });

  async listen(): Promise<string> {
    await new Promise<void>((resolve) => this.server.listen(0, '127.0.0.1', resolve));
    return `http://127.0.0.1:${(this.server.address() as AddressInfo).port}/anchor`;
  }

  close(): Promise<unknown> {
    this.server.closeAllConnections();
    return new Promise((resolve) => this.server.close(resolve));
  }
}
