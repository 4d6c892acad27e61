import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import net, { type AddressInfo } from 'node:net';
import os from 'node:os';
import path from 'node:path';
import postgres from 'postgres';

/** Where Debian puts the programs of a server, the newest version last. */
const DEBIAN = '/usr/lib/postgresql';

/** A database that was made for one test, with the addresses of both roles. */
export interface TestDatabase {
  /** As the program is to reach it: the role owns nothing. */
  readonly url: string;
  readonly owner: string;
  /** As nobody but the server itself may: for attacks. */
  readonly superuser: string;
}

/** Folder of the programs; undefined where no server is installed. */
export function serverPrograms(): string | undefined {
  if (!fs.existsSync(DEBIAN)) return undefined;
  const found = fs.readdirSync(DEBIAN).map((version) => path.join(DEBIAN, version, 'bin'));
  return found.filter((folder) => fs.existsSync(path.join(folder, 'initdb'))).at(-1);
}

/** A real server on a free port of this machine, with its data in memory where the run writes, and in no hurry to save them. */
export class TestServer {
  private databases = 0;
  private readonly settings: string[] = [];

  private constructor(
    private readonly programs: string,
    private readonly folder: string,
    private readonly port: number,
  ) {}

  /** @throws Error when it does not start, with what it said. */
  static async start(): Promise<TestServer> {
    const programs = serverPrograms();
    if (programs === undefined) throw new Error('no PostgreSQL is installed: install the package postgresql');
    // Beside the folder of the run, which another account may not enter. One that is left behind is removed by the next run,
    // and a server without its folder ends.
    const folder = fs.mkdtempSync(path.join(path.dirname(os.tmpdir()), `lotwright-tests-${process.pid}-server-`));
    const own = account();
    if (own) fs.chownSync(folder, own.uid, own.gid);
    const server = new TestServer(programs, folder, await freePort());
    server.run('initdb', [
      '--locale=C',
      '--encoding=UTF8',
      '--auth=trust',
      '--no-sync',
      '--username=postgres',
      '-D',
      'data',
    ]);
    server.begin();
    await server.ask('CREATE ROLE owner LOGIN; CREATE ROLE program LOGIN');
    return server;
  }

  /** Starts it, or starts it again after `stop`. */
  begin(): void {
    const asked = ['listen_addresses=127.0.0.1', 'fsync=off', ...this.settings].map((setting) => `-c "${setting}"`);
    const settings = [`-p ${this.port}`, `-k ${this.folder}`, ...asked].join(' ');
    this.run('pg_ctl', ['-D', 'data', '-w', '-l', 'log', '-o', settings, 'start']);
  }

  /** From now on it keeps its log of changes in a folder beside its data, as a server does that is to be put back to a moment. */
  archive(): void {
    const kept = this.log;
    this.run('mkdir', ['-p', kept], '');
    this.settings.push('archive_mode=on', 'wal_level=replica', `archive_command=cp %p ${kept}/%f`);
    this.stop('fast');
    this.begin();
  }

  /** A copy of all that it has now, from which `backTo` begins. */
  baseBackup(): void {
    this.run('pg_basebackup', [
      '-h',
      '127.0.0.1',
      '-p',
      String(this.port),
      '-U',
      'postgres',
      '-D',
      'base',
      '-c',
      'fast',
    ]);
  }

  /** Puts it back to a point that was named (`pg_create_restore_point`), as docs/operations.md says. */
  backTo(point: string): void {
    this.stop('fast');
    this.run('rm', ['-r', 'data'], '');
    this.run('cp', ['-a', 'base', 'data'], '');
    this.run('touch', ['data/recovery.signal'], '');
    this.settings.push(
      `restore_command=cp ${this.log}/%f %p`,
      `recovery_target_name=${point}`,
      'recovery_target_action=promote',
    );
    this.begin();
  }

  private get log(): string {
    return path.join(this.folder, 'log-of-changes');
  }

  /** @param mode immediate: as a power cut would. */
  stop(mode: 'fast' | 'immediate' = 'immediate'): void {
    this.run('pg_ctl', ['-D', 'data', '-w', '-m', mode, 'stop']);
  }

  /** Processor time in milliseconds that all its processes took until now. */
  cpuMs(): number {
    const pid = Number(fs.readFileSync(path.join(this.folder, 'data', 'postmaster.pid'), 'utf8').split('\n', 1)[0]);
    const children = fs.readFileSync(`/proc/${pid}/task/${pid}/children`, 'utf8').split(' ');
    const live = [String(pid), ...children].flatMap((name) => statOf(name) ?? []);
    return live.reduce((sum, { ownMs }) => sum + ownMs, live[0]!.endedMs);
  }

  /** Stops it for good. */
  remove(): void {
    this.stop();
    fs.rmSync(this.folder, { recursive: true });
  }

  /** Its address, as the one who may do everything. */
  get superuser(): string {
    return `postgresql://postgres@127.0.0.1:${this.port}/postgres`;
  }

  /** An empty database whose tables the owner will own. */
  async database(locale = 'C'): Promise<TestDatabase> {
    this.databases += 1;
    const name = `cell_${this.databases}`;
    await this.ask(`CREATE DATABASE ${name} OWNER owner TEMPLATE template0 LOCALE '${locale}' ENCODING 'UTF8'`);
    const as = (role: string) => `postgresql://${role}@127.0.0.1:${this.port}/${name}`;
    return { url: as('program'), owner: as('owner'), superuser: as('postgres') };
  }

  private async ask(text: string): Promise<void> {
    await asked(this.superuser, text);
  }

  /** @param place of the program; empty for one of the system. */
  private run(program: string, args: readonly string[], place = this.programs): void {
    // The server refuses to run as root.
    const { status, stderr, stdout } = spawnSync(path.join(place, program), args, {
      ...account(),
      cwd: this.folder,
      encoding: 'utf8',
      stdio: ['ignore', 'ignore', 'pipe'],
    });
    if (status !== 0) throw new Error(`${program} ended with ${status}: ${stderr}${stdout ?? ''}`);
  }
}

/** Asks a database as one of its roles. */
export async function asked(url: string, text: string): Promise<postgres.RowList<postgres.Row[]>> {
  const sql = postgres(url, { max: 1, onnotice: () => {} });
  try {
    return await sql.unsafe(text);
  } finally {
    await sql.end();
  }
}

/** Processor time of a process of this machine, and of its children that have ended; undefined for one that has gone. */
function statOf(name: string) {
  try {
    const text = fs.readFileSync(`/proc/${name}/stat`, 'utf8');
    const fields = text.slice(text.lastIndexOf(')') + 2).split(' ');
    // To the nanosecond, where the other counts hundredths of a second.
    const [onCpuNs] = fs.readFileSync(`/proc/${name}/schedstat`, 'utf8').split(' ');
    return { ownMs: Number(onCpuNs) / 1e6, endedMs: 10 * (Number(fields[13]) + Number(fields[14])) };
  } catch {
    return undefined;
  }
}

function account(): { uid: number; gid: number } | undefined {
  if (process.getuid?.() !== 0) return undefined;
  const line = fs.readFileSync('/etc/passwd', 'utf8').match(/^postgres:[^:]*:(\d+):(\d+):/m)!;
  return { uid: Number(line[1]), gid: Number(line[2]) };
}

function freePort(): Promise<number> {
  return new Promise((resolve) => {
    const probe = net.createServer().listen(0, '127.0.0.1', () => {
      const { port } = probe.address() as AddressInfo;
      probe.close(() => resolve(port));
    });
  });
}
