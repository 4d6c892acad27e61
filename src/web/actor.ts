/** Who is named in the audit trail for what is done on the pages: until people sign in, the user of this machine. */
export class Actor {
  constructor(readonly name: string) {}
}
