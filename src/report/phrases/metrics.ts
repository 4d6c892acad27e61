/** What each number that the service tells of itself is, for whoever watches it. */
export const METRICS = {
  build: 'the program that answers',
  requests: 'requests that were answered, by method and status',
  requestSeconds: 'how long answers took until they were sent',
  openRequests: 'requests that are being answered',
  jobs: 'work that takes long, by state',
  jobsEnded: 'work that took long and ended, by how it ended',
  workerTasks: 'tasks of worker threads, by thread and state',
  workerRefused: 'tasks of worker threads that were refused because too many waited',
  ledger: 'entries of the audit trail',
  backupAge: 'since the last backup',
  checkAge: 'since everything that is kept was last checked',
  checkFaults: 'faults that the last check found',
  busy: 'time in which the thread that answers was busy',
  cpu: 'processor time, in the system and outside it',
  memory: 'memory in use',
  start: 'when the service was started, since 1970',
};

/** To whoever asks something new of a service that ends. */
export const ENDING =
  'this instance of the service is about to end and begins nothing new; nothing was done: try again in a moment';

/** Why the service is not ready. */
export const NOT_READY = {
  ending: 'it was told to end, and answers only what it was asked before',
  database: 'its database does not answer',
  evidence: 'its files cannot be written where they lie',
  full: 'the disk of its data folder is nearly full',
};

export const METRICS_REFUSED =
  'the metrics are for this machine, and for the address that --watcher names when the service is started';
