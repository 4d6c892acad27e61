import 'reflect-metadata';
import type { Server } from 'node:http';
import { type AddressInfo, isIP } from 'node:net';
import path from 'node:path';
import { NestFactory } from '@nestjs/core';
import type { NestExpressApplication } from '@nestjs/platform-express';
import type { NextFunction, Request, Response } from 'express';
import helmet from 'helmet';
import type { Logger } from 'pino';
import { AppModule } from './app.module.js';
import { AppError, BadInputError } from './base/errors.js';
import { MOST } from './base/limits.js';
import { programBuild } from './base/settings.js';
import { letThreadsGiveWay } from './base/worker-pool.js';
import { DailyCheck } from './custody/daily-check.js';
import { ReadHeads } from './custody/read-heads.js';
import { Ahead } from './desk/ahead.js';
import { LogRescans } from './intake/log-rescans.js';
import { Reassessor } from './lots/reassessor.js';
import { AccountLinks } from './people/account-links.js';
import { providerGiven } from './people/elsewhere/provider.js';
import { linkPath } from './people/one-time-link.js';
import { NOT_ASSESSED_AGAIN } from './report/phrases/earlier-version.js';
import { DataFolder } from './store/data-folder.js';
import { isKeyLocked } from './store/installation-key.js';
import { Store } from './store/store.js';
import { changesOfEveryone } from './web/access.js';
import { ErrorFilter } from './web/error-filter.js';
import { FONT_FILES } from './web/fonts.js';
import { keepApart } from './web/identity.js';
import { Jobs } from './web/jobs.js';
import { makeLog, quietLog } from './web/log.js';
import { PAGE_TEMPLATES, Pages } from './web/pages.js';
import { refuseForeignChanges, refuseOtherNames } from './web/request-checks.js';
import { LIMITS, type Limits, limitRate, refuseSlowBodies } from './web/request-limits.js';
import { logRequests } from './web/request-log.js';
import { Routes } from './web/routes.js';
import { SharedRates } from './web/shared-rates.js';
import { Standing } from './web/standing.js';
import { readTls, type Tls, type TlsFiles } from './web/tls.js';
import { Traffic } from './web/traffic.js';
import { Watchers } from './web/watchers.js';

export interface ServeOptions {
  /** Path of the data folder. */
  readonly data: string;
  /** 0 lets the system choose one. */
  readonly port: number;
  readonly host: string;
  /** Needed for an address that other machines reach. */
  readonly tls?: TlsFiles;
  /** File of the log; standard error when absent. */
  readonly logFile?: string;
  /** Addresses of proxies before this service, with commas between them, whose word is taken for the address of who asks. */
  readonly proxy?: string;
  /** Another address that may read the metrics. */
  readonly watcher?: string;
}

export interface ApplicationOptions {
  readonly tls?: Tls;
  readonly log?: Logger;
  readonly limits?: Limits;
  readonly proxy?: string | undefined;
  readonly watcher?: string | undefined;
}

export interface RunningService {
  readonly url: string;
  /** Where the first administrator is made; absent once there is an account. It is said once, to whoever starts this. */
  readonly firstLink?: { readonly url: string; readonly expiresAt: string };
  /** Settles when the service has ended, by `close` or by a signal. */
  readonly ended: Promise<void>;
  close(): Promise<void>;
}

const OWN_HOSTS = ['127.0.0.1', '::1', 'localhost'];

/**
 * Starts pages and API over a data folder, and the daily check of it.
 * @throws AppError REFUSED for an address that other machines reach without TLS, BUSY when the folder has a service or the port is
 * taken; BadInputError when the port is no port, the files for TLS are of no use, or a provider of sign-ins is named wrongly.
 */
export async function serve({
  data,
  port,
  host,
  tls: tlsFiles,
  logFile,
  proxy,
  watcher,
}: ServeOptions): Promise<RunningService> {
  checkAddress(host, port, tlsFiles !== undefined);
  checkProxy(proxy);
  checkWatcher(watcher);
  // Named wrongly it is told to whoever starts the service, not to those who sign in.
  providerGiven();
  const tls = tlsFiles && readTls(tlsFiles);
  const log = makeLog(logFile);
  // Read before an update may put other files in the place of those that run.
  programBuild();
  const store = await Store.open(DataFolder.open(data));
  try {
    await store.becomeService();
    letThreadsGiveWay();
    if (isKeyLocked(data)) store.key.refuseLocked();
    const app = await createApplication(store, { log, proxy, watcher, ...(tls ? { tls } : {}) });
    const link = await app.get(AccountLinks).makeFirstLink();
    await listen(app, port, host);
    app.get(LogRescans).start();
    app.get(Standing).start();
    app.get(SharedRates).start();
    const onTrouble = (says: string) => log.error(says);
    // Assessed anew is after what can be shown meanwhile was made: while lots are stored, nothing that is made of others is kept.
    const ahead = app.get(Ahead);
    // The first page names the lots; a log is read by those who may know none.
    const assessed = () => log.error(NOT_ASSESSED_AGAIN);
    void ahead.start(onTrouble).then(() => app.get(Reassessor).start(assessed));
    const service = running(app, store, { host, scheme: tls ? 'https' : 'http', log });
    if (!link) return service;
    return { ...service, firstLink: { url: service.url + linkPath(link.token), expiresAt: link.expiresAt } };
  } catch (error) {
    await store.close();
    throw error;
  }
}

/** The application without a port, for tests and for `serve`. */
export async function createApplication(
  store: Store,
  { tls, log = quietLog(), limits = LIMITS, proxy, watcher }: ApplicationOptions = {},
): Promise<NestExpressApplication> {
  const app = await NestFactory.create<NestExpressApplication>(AppModule.over(store), {
    // The guard reads bodies, after it has let somebody in.
    bodyParser: false,
    // Errors are told once: by the filter, or by whoever starts the service.
    logger: false,
    abortOnError: false,
    forceCloseConnections: true,
    ...(tls ? { httpsOptions: { cert: tls.cert, key: tls.key } } : {}),
  });
  limitConnections(app);
  app.disable('x-powered-by');
  // What anybody else says of where a request comes from is not believed.
  if (proxy !== undefined) app.set('trust proxy', proxiesIn(proxy));
  app.get(Watchers).name(watcher, proxy !== undefined);
  app.use(app.get(Traffic).count(), logRequests(log));
  app.use(headers(tls !== undefined));
  const isSignIn = changesOfEveryone(app.get(Routes).all());
  app.use(
    refuseSlowBodies(limits),
    limitRate(limits, isSignIn, wallMs, (...of) => app.get(SharedRates).others(...of)),
  );
  app.use(refuseOtherNames(tls?.speaksFor), refuseForeignChanges);
  app.useStaticAssets(path.join(PAGE_TEMPLATES, 'assets'), { prefix: '/assets', index: false });
  for (const { name, file } of FONT_FILES) {
    app.useStaticAssets(file, { prefix: `/assets/fonts/${name}`, index: false, maxAge: '1d' });
  }
  app.use(keepNothing, keepApart, app.get(Standing).guard());
  app.useGlobalFilters(new ErrorFilter(app.get(Pages), log));
  await app.init();
  return app;
}

/** The time of day, which never goes back while the service runs. */
const wallMs = (): number => performance.timeOrigin + performance.now();

/** What somebody saw must not be shown again from the memory of the browser after they signed out. */
function keepNothing(_request: Request, response: Response, next: NextFunction): void {
  response.setHeader('Cache-Control', 'no-store');
  next();
}

/** A connection that sends its request slowly, or nothing any more, is hung up on; so is one too many. */
function limitConnections(app: NestExpressApplication): void {
  const server = app.getHttpServer() as Server;
  server.headersTimeout = 10_000;
  // Bodies have a limit of their own (refuseSlowBodies): a long upload is no slow one.
  server.requestTimeout = 0;
  server.keepAliveTimeout = 5000;
  server.maxHeadersCount = 100;
  server.maxConnections = 500;
}

const YEAR_S = 365 * 24 * 3600;

/** Scripts that are files of ours, no inline ones and no inline styles, nothing from elsewhere; over TLS never plain HTTP again. */
const headers = (encrypted: boolean) =>
  helmet({
    contentSecurityPolicy: {
      useDefaults: false,
      directives: {
        defaultSrc: ["'none'"],
        scriptSrc: ["'self'"],
        connectSrc: ["'self'"],
        styleSrc: ["'self'"],
        fontSrc: ["'self'"],
        imgSrc: ["'self'"],
        // Of ours, only scans beside a form let themselves be held in a frame.
        frameSrc: ["'self'"],
        formAction: ["'self'"],
        baseUri: ["'none'"],
        frameAncestors: ["'none'"],
      },
    },
    strictTransportSecurity: encrypted ? { maxAge: YEAR_S, includeSubDomains: false } : false,
    // Without any referrer a browser would send a form of our own pages as coming from nowhere.
    referrerPolicy: { policy: 'same-origin' },
  });

function checkAddress(host: string, port: number, encrypted: boolean): void {
  if (!encrypted && !OWN_HOSTS.includes(host)) {
    throw new AppError(
      'REFUSED',
      `without --tls-cert and --tls-key it speaks plain HTTP, in which others could read passwords, so it serves this machine only: use ${OWN_HOSTS.join(', ')} instead of ${host}, or name both files`,
      { host },
    );
  }
  if (!Number.isInteger(port) || port < 0 || port > 65_535) {
    throw new BadInputError([
      {
        code: 'port',
        field: '--port',
        found: String(port),
        expected: 'a whole number from 0 to 65535',
        remedy: 'name another port; 0 lets the system choose',
      },
    ]);
  }
}

function checkWatcher(watcher: string | undefined): void {
  if (watcher === undefined || isIP(watcher) !== 0) return;
  throw new BadInputError([
    {
      code: 'watcher',
      field: '--watcher',
      found: watcher,
      expected: 'the address of one machine, such as 192.0.2.7',
      remedy: 'name the address from which the metrics are read',
    },
  ]);
}

/** @returns the addresses of proxies, which stand with commas between them. */
const proxiesIn = (proxy: string): string[] => proxy.split(',').map((one) => one.trim());

function checkProxy(proxy: string | undefined): void {
  if (proxy === undefined || proxiesIn(proxy).every((one) => isIP(one) !== 0)) return;
  throw new BadInputError([
    {
      code: 'proxy',
      field: '--proxy',
      found: proxy,
      expected: 'the addresses of proxies with commas between them, such as 127.0.0.1,192.0.2.7',
      remedy: 'name the addresses from which they reach this service',
    },
  ]);
}

async function listen(app: NestExpressApplication, port: number, host: string): Promise<void> {
  try {
    await app.listen(port, host);
  } catch (error) {
    await app.close();
    if ((error as NodeJS.ErrnoException).code !== 'EADDRINUSE') throw error;
    throw new AppError('BUSY', `port ${port} is taken by another program; stop it, or name another with --port`, {
      port,
    });
  }
}

/**
 * Ends what is under way: each act is answered, and work that takes long is done. Until then it goes on to listen, so that
 * whatever asks meanwhile is told at once to ask elsewhere, and not left without an answer.
 */
async function drain(app: NestExpressApplication): Promise<void> {
  const server = app.getHttpServer() as Server;
  const until = performance.now() + MOST.drainMs;
  await app.get(Traffic).drain(MOST.drainMs);
  await app.get(Jobs).drain(Math.max(0, until - performance.now()));
  server.close();
  server.closeIdleConnections();
}

function running(
  app: NestExpressApplication,
  store: Store,
  { host, scheme, log }: { host: string; scheme: 'http' | 'https'; log: Logger },
): RunningService {
  const daily = new DailyCheck(store, { onTrouble: (says) => log.error(says) });
  daily.start();
  const reads = new ReadHeads(store, (says) => log.error(says));
  const telling = reads.start();
  const { port } = app.getHttpServer().address() as AddressInfo;
  let end: (() => void) | undefined;
  const ended = new Promise<void>((resolve) => {
    end = resolve;
  });
  let closing: Promise<void> | undefined;
  const close = () => {
    closing ??= (async () => {
      process.off('SIGINT', close).off('SIGTERM', close);
      daily.stop();
      app.get(Standing).stop();
      app.get(SharedRates).stop();
      await drain(app);
      await app.get(Ahead).close();
      await app.close();
      await app.get(LogRescans).close();
      await app.get(Reassessor).close();
      await telling;
      await reads.stop();
      await store.close();
      end!();
    })();
    return closing;
  };
  process.once('SIGINT', close).once('SIGTERM', close);
  return { url: `${scheme}://${host.includes(':') ? `[${host}]` : host}:${port}`, ended, close };
}
