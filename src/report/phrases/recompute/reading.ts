/** What a record carries, and how to read it. */
export const READING = `1. What is attached
  dossier.json           the facts of the lot as frozen: every document that counted, whole ("pinned"), what people signed
                         on them, and the SHA-256 of each part
  results.csv            every reported value with its source, corrected ones included (column "status")
  family-history.json    earlier builds of the family, where there are any: for each characteristic the sums over the
                         values that the pooling rule in dossier.json admits, what it left out, what a signed decision
                         took out, the last builds and values, the baseline of the chart, and "head": position and digest
                         of the last row of the history in the data folder, which is chained with all before it
  log-summaries.csv      statistics of each logged channel by layer, zone and step
  log-BUILD.json         findings of the log scan, outlines of the channels, gaps
  late-facts.json        facts of the build that were entered late, where there are any
  consumable-uses.json   uses of what has a limit of uses, of whatever lots, up to the last one of this lot, where there are any
  stock-parts.json       of the stock on which parts of the lot were built: what an implant among it went through, and
                         one on which that was built
                         ("origins", with the paper of a bar under the first of them in "builtOn"), and
                         all that was built on it, of whatever lots, up to the last closure of this lot ("uses"); where there is any
  simulation.json        of a lot with exposures: from which seed numbers are drawn, and how many, where first order is not enough
  case-CODE.json         the facts of one case: its documents, the SHA-256 of its files, what people signed on them; a
                         copy for one institution leaves out those of others
  assessment.json        what the program said: checks, verdicts, family performance
  family-in-words.txt    what is said of the family over its builds, line by line
  record-template.yaml   order, titles and words of the record
  enclosure.json         the SHA-256 of every attachment, who printed the record when, what was signed on the lot, the
                         public keys, the signed head of the audit trail and the proofs of what stands under it

2. How to read it
  Documents: an entry of "pinned" has "kind", "key", "revision", "digest" and the document itself as "body"; CODE rev N is
  the one with that key and revision. The lot is the one of kind "lot", its specification the one that it names. Case files
  have documents of their own; one that stands in several counts once. What a document leaves out is not given.
  Rows: row n is line n + 1 of results.csv, of which the first line names the columns. A row counts while its status is
  "current": such rows are meant below, in the order of the table. A specimen is an implant, by its "serial", or a coupon.
  Empty is not given. CSV is that of RFC 4180.
  Times are compared as moments, whatever their offset. A day is the first ten characters of a time, as it is written.
  Decimals are compared as the decimal texts that they are, exactly: 215 is 215.0. Where a unit differs from the one wanted,
  convert first (UCUM); a difference or an uncertainty without the offset of a temperature. What this program computed is
  stated with nine significant digits.
  Canonical JSON is that of RFC 8785. "Digest of X" is the SHA-256 of the canonical JSON of X, in small hexadecimal digits.
`;
