import net, { type AddressInfo } from 'node:net';

/** Where a commit is lost: before the server has it, or its answer. */
export type LostCommit = 'on the way' | 'on the way back';

/** Stands between the program and a database server, and breaks a connection where it is told to. */
export class LossyWay {
  /** Of the next commit; then nothing more is lost. */
  loses: LostCommit | undefined;
  private readonly open = new Set<net.Socket>();

  private constructor(
    private readonly listening: net.Server,
    /** The address of the server, by this way. */
    readonly url: string,
  ) {}

  static async to(url: string): Promise<LossyWay> {
    const { hostname, port } = new URL(url);
    const listening = net.createServer();
    await new Promise<void>((resolve) => listening.listen(0, '127.0.0.1', resolve));
    const here = new URL(url);
    here.port = String((listening.address() as AddressInfo).port);
    const way = new LossyWay(listening, here.href);
    listening.on('connection', (program) => way.join(program, net.connect(Number(port), hostname)));
    return way;
  }

  private join(program: net.Socket, server: net.Socket): void {
    const end = () => {
      for (const socket of [program, server]) socket.destroy();
    };
    for (const socket of [program, server]) {
      this.open.add(socket);
      socket.on('error', end).on('close', () => {
        this.open.delete(socket);
        end();
      });
    }
    let answerIsLost = false;
    program.on('data', (bytes) => {
      const lost = this.loses !== undefined && bytes.includes('COMMIT') ? this.loses : undefined;
      if (lost !== undefined) this.loses = undefined;
      if (lost === 'on the way') return end();
      answerIsLost ||= lost === 'on the way back';
      server.write(bytes);
    });
    server.on('data', (bytes) => {
      if (answerIsLost) end();
      else program.write(bytes);
    });
  }

  /** Each connection ends with an error, as where a machine on the way was started again. */
  reset(): void {
    for (const socket of this.open) socket.resetAndDestroy();
  }

  close(): void {
    for (const socket of this.open) socket.destroy();
    this.listening.close();
  }
}
