/**
 * Sets variables of this process (`undefined` takes one away) and gives what puts back what they were. One by one:
 * `process.env` itself must stay the one that the runtime watches, or a time zone set later has no effect.
 */
export function setEnvironment(named: Record<string, string | undefined>): () => void {
  const before = Object.fromEntries(Object.keys(named).map((name) => [name, process.env[name]]));
  for (const [name, value] of Object.entries(named)) {
    if (value === undefined) delete process.env[name];
    else process.env[name] = value;
  }
  return () => void setEnvironment(before);
}
