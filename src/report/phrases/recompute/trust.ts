/** Digests, signatures, keys and the audit trail. */
export const TRUST = `3. Is anything altered?
  Detach the files, for instance: pdfdetach -saveall RECORD.pdf
  sha256sum each file and compare with "attachments" in enclosure.json. sha256sum enclosure.json and compare with the digest
  that page 1 prints, and with "enclosure:" in the keywords of the file (pdfinfo RECORD.pdf). "dossierSha256" and
  "assessmentSha256" are those of dossier.json and assessment.json; "parts" in dossier.json lists the files that belong to
  it. All JSON files are canonical, so that one content has one digest. The digest of each pinned document is that of its
  "body".

4. Who signed, and on what?
  "signatures" in dossier.json, case-CODE.json and enclosure.json: "digest" is that of "statement". Two signatures (base64,
  Ed25519, RFC 8032) are over the canonical JSON of "statement": "personSignature" by the key of the person, whose fingerprint
  "person" names as "key", and "signature" by the key that it names as "installation".
  openssl pkeyutl -verify -rawin -pubin -inkey KEY.pem -in STATEMENT.json -sigfile SIGNATURE.bin
  A statement covers exactly what "subjects" names by digest: of a document or a result sheet the digest of its "body"; of the
  lot file "dossierSha256"; of a finding its identity (section 10); of a log finding its "id", of many alike the one of
  section 9. Of four things that grow only a part is signed, and the digest is that of an object with these fields:
    a certificate of a receipt   "receipt" and every field of "certificate" but "checkedBy"
    a receipt                    "receipt", "supplier", "material", "supplierLot", "heats", "status", "expiry" (empty text when not
                                 given), "certificate" (the digest of the certificate, empty text without one), and, where the
                                 receipt has them, "materialSpecification", "container", "labelLot", "state"
    a stock part                 "stockPart", "material", "zone" and "preparation" of its "interface", and, where it has them, "receipt",
                                 "implant", "why", "mesh", "lines", "takenOff" and "roughness" of its "interface"
    a training of a person       "person", and of the entry of "qualifications" "operation", "from", "to", "evidence" (the last two
                                 empty text when not given)
  "beside" of a review or a release names the digest of the assessment ("assessmentSha256") and, as summary, of the first page that
  the signer saw: "text" of the entry of "summaries" with that "sha256", of which it is the SHA-256.

  Acts on the lot: of "states" in enclosure.json those whose "what" is hold-lifted, release-revoked or verdict-changes-seen, and
  hold-placed without a "cause" (with one the program placed it by itself). Each has "signed", with "text" and one entry of
  "signatures": Ed25519 over "text", by the "key" of its "person", in use at "at". "text" is canonical JSON: its "at", "actor" and
  "reason" are "at", "by" and "reason" of the entry ("reason" may be null for an empty one), its "act" has as "type" what "what" says,
  and the same "step" and "units" (more in a copy for one case; of verdict-changes-seen none) on this "lot". "actor" is
  person:PERSON, or begins with that, a space and "through".

  "course" in enclosure.json lists what befell the lot in the order of the audit trail, each with "what", "units" and "digest": of
  each of its "signatures" ("what" is signed) its own digest, of each of "states" the SHA-256 of its text ("text" of "signed", or
  "text" beside it where the program recorded it). In a copy for one case it lists also what the copy does not tell; of what
  concerns no unit, or one of that case, the copy has to tell what is signed, hold-placed, hold-lifted and release-revoked. A whole
  record tells all that is listed, and nothing else. A signature on the lot names in "beside", as course, the digest of the
  list (of its canonical JSON) of those before it: so nothing before the last one is left out.

  Keys of people: "people" in enclosure.json, in the order in which they were made. Each is signed over the canonical JSON of
  {"what":"person-key","person":…,"name":…,"fingerprint":…,"replaces":…,"link":…} three times: "acceptance" by itself,
  "linkSignature" by the key "link" (that of a one-time link), and "signature" by the key of the "installation". Each of the
  "endorsements" is over the canonical JSON of {"what":"person-key-link","person":…,"name":…,"replaces":…,"link":…}, by the
  "key" of another person that stands before it and was in use then. The first key of all has no link and no endorsement:
  ask the cell whether it is that of its first administrator. Every other first key of a person ("replaces" null) has one
  endorsement; one that "replaces" the key that the person had before has those of two people, or of all other people with keys
  before it where there are fewer, and the statements under it name them as "recoveredBy". A key is in use from "madeAt"
  until another replaces it, or until "closedAt": no statement under it is later.

  Keys of the installation: "keys" in enclosure.json, the one in use first, then the others from the first key on. A
  fingerprint is the SHA-256 of the bytes between the BEGIN and END lines of "publicPem" (base64; the SubjectPublicKeyInfo in
  DER). The first key has "replaces" null or none. Every later one "replaces" the one before it, and carries two signatures
  (base64, Ed25519) over the canonical JSON of {"what":"installation-key","replaces":…,"fingerprint":…,"persons":…}, persons
  null where it has none: "acceptance" by itself, and "endorsement" by the one before. A key that took the place of a lost one
  has no endorsement, but two different "persons" who vouch for it. Page 1 prints the fingerprint of the key in use: compare it
  with the one that the cell gives you by another way.

5. What stands in the audit trail?
  "ledger" in enclosure.json holds "checkpoint", a signed note (C2SP tlog-checkpoint): origin, number of entries and root
  (base64), a line each, then an empty line, then "— ORIGIN SIGNATURE" with base64 of four bytes and the Ed25519 signature
  over the three lines, each with its line end. The four bytes are the first of SHA-256(ORIGIN, line feed, byte 1, the last 32
  bytes of the key's SubjectPublicKeyInfo). The origin ends in the first 16 digits of the fingerprint of the first key. Size
  and root are those in "ledger".
  "proofs": "entry" is the text of an entry, and its leaf SHA-256(byte 0, entry); a node is SHA-256(byte 1, left, right).
  "path" leads from the leaf to the root (RFC 6962, section 2.1.1; checked as in RFC 9162, section 2.1.3.2). Entries count
  from 1 and leaves from 0: entry "seq" is leaf seq - 1. Among the entries have to be: dossier-frozen with "digest"
  dossierSha256, assessment-made with "digest" assessmentSha256, statement-signed with the digest of every statement, and
  event-recorded of a key-made with the SHA-256 of the certificate of the seal ("seal") as the key of its subject.
  The entries of statements have times too: "at" of a statement is not after "at" of its own entry, and not before that of an
  entry that stands before it; where "witnessed" has a "token", a statement whose "seq" is above its "size" is not more than ten
  minutes before its "at".
  "earlier" names records that were issued before; "consistency" shows that the trail of each, of "size" entries with "root",
  only grew since (RFC 6962, section 2.1.2; RFC 9162, section 2.1.4.2).
`;
