#!/usr/bin/env bash
# Signs the published certificate in five of the usual ways with the program xmlsec1 (1.2.37) and keys that are made here and
# thrown away, so that our reading is held against signatures that another program made. Needs xmlsec1 and openssl.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
printf 'basicConstraints=critical,CA:TRUE\n' > ca.ext
printf 'basicConstraints=critical,CA:FALSE\nkeyUsage=digitalSignature\n' > leaf.ext
days=36500
openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -keyout ca.key -out ca.pem -days $days \
  -subj '/O=Example authority (invented)/CN=Root' -addext 'basicConstraints=critical,CA:TRUE' 2>/dev/null
make_leaf() { # name, key options
  openssl req -newkey "${@:2}" -nodes -keyout "$1.key" -out "$1.csr" -subj "/O=Example laboratory (invented)/CN=$1" 2>/dev/null
  openssl x509 -req -in "$1.csr" -CA ca.pem -CAkey ca.key -CAcreateserial -days $days -extfile leaf.ext -out "$1.pem" 2>/dev/null
}
make_leaf rsa rsa:2048
make_leaf ecdsa ec -pkeyopt ec_paramgen_curve:P-256

DSIG=http://www.w3.org/2000/09/xmldsig#
ENVELOPED="<ds:Transform Algorithm=\"${DSIG}enveloped-signature\"/>"
template() { # canonical form, signature, digest, more references, objects, what leaves the signature out, canonical form of the document
  cat <<XML
<ds:Signature xmlns:ds="$DSIG" Id="s-1"><ds:SignedInfo>
<ds:CanonicalizationMethod Algorithm="$1"/>
<ds:SignatureMethod Algorithm="$2"/>
<ds:Reference URI="" Id="r-1"><ds:Transforms>${6:-$ENVELOPED}<ds:Transform Algorithm="${7:-$1}"/></ds:Transforms><ds:DigestMethod Algorithm="$3"/><ds:DigestValue/></ds:Reference>
$4</ds:SignedInfo><ds:SignatureValue/><ds:KeyInfo><ds:X509Data/></ds:KeyInfo>$5</ds:Signature>
XML
}
sign() { # name of the result, key, template, what stands before the root
  python3 - "$here/dcc_gp_temperature_typical_v12.xml" "$3" "${4:-}" > in.xml <<'PY'
import sys
text = open(sys.argv[1], encoding='utf-8', newline='').read()
root, end = '<dcc:digitalCalibrationCertificate', '</dcc:digitalCalibrationCertificate>'
assert text.count(root) == 1 and text.count(end) == 1
text = text.replace(root, sys.argv[3] + root)
sys.stdout.write(text.replace(end, sys.argv[2].strip() + '\n' + end))
PY
  xmlsec1 --sign --id-attr:Id SignedProperties --privkey-pem "$2.key,$2.pem,ca.pem" --output "$here/signed-$1.xml" in.xml
  xmlsec1 --verify --id-attr:Id SignedProperties --trusted-pem ca.pem "$here/signed-$1.xml"
}
EXCLUSIVE=http://www.w3.org/2001/10/xml-exc-c14n#
INCLUSIVE=http://www.w3.org/TR/2001/REC-xml-c14n-20010315
SHA256=http://www.w3.org/2001/04/xmlenc#sha256
XADES=http://uri.etsi.org/01903
sign rsa rsa "$(template $EXCLUSIVE http://www.w3.org/2001/04/xmldsig-more#rsa-sha256 $SHA256 '' '')"
sign rsa-sha512 rsa "$(template $INCLUSIVE http://www.w3.org/2001/04/xmldsig-more#rsa-sha512 http://www.w3.org/2001/04/xmlenc#sha512 '' '')"
sign ecdsa ecdsa "$(template $EXCLUSIVE http://www.w3.org/2001/04/xmldsig-more#ecdsa-sha256 $SHA256 \
  "<ds:Reference Type=\"$XADES#SignedProperties\" URI=\"#p-1\"><ds:Transforms><ds:Transform Algorithm=\"$EXCLUSIVE\"/></ds:Transforms><ds:DigestMethod Algorithm=\"$SHA256\"/><ds:DigestValue/></ds:Reference>
" \
  "<ds:Object><x:QualifyingProperties xmlns:x=\"$XADES/v1.3.2#\" Target=\"#s-1\"><x:SignedProperties Id=\"p-1\"><x:SignedSignatureProperties><x:SigningTime>2031-03-01T09:00:00Z</x:SigningTime></x:SignedSignatureProperties></x:SignedProperties></x:QualifyingProperties></ds:Object>")"
# As the published examples of signed certificates have it: XAdES that names its certificate, over Canonical XML 1.1, or by a path
# that takes every signature out; the file names a style sheet, which is signed too.
digest_of() { openssl x509 -in "$1.pem" -outform DER | openssl dgst -sha512 -binary | base64 -w 0; }
properties="<ds:Reference Type=\"$XADES#SignedProperties\" URI=\"#p-1\"><ds:Transforms><ds:Transform Algorithm=\"$EXCLUSIVE\"/></ds:Transforms><ds:DigestMethod Algorithm=\"$SHA256\"/><ds:DigestValue/></ds:Reference>
"
said() { # whose certificate it names
  echo "<ds:Object><xades:QualifyingProperties xmlns:xades=\"$XADES/v1.3.2#\" Target=\"#s-1\"><xades:SignedProperties Id=\"p-1\"><xades:SignedSignatureProperties><xades:SigningTime>2031-03-02T10:00:00Z</xades:SigningTime><xades:SigningCertificateV2><xades:Cert><xades:CertDigest><ds:DigestMethod Algorithm=\"http://www.w3.org/2001/04/xmlenc#sha512\"/><ds:DigestValue>$(digest_of "$1")</ds:DigestValue></xades:CertDigest></xades:Cert></xades:SigningCertificateV2></xades:SignedSignatureProperties><xades:SignedDataObjectProperties><xades:DataObjectFormat ObjectReference=\"#r-1\"><xades:MimeType>text/xml</xades:MimeType></xades:DataObjectFormat></xades:SignedDataObjectProperties></xades:SignedProperties></xades:QualifyingProperties></ds:Object>"
}
sheet='<?xml-stylesheet type="text/xsl" href="dcc.xsl"?>
'
filter='http://www.w3.org/2002/06/xmldsig-filter2'
path="<ds:Transform Algorithm=\"$filter\"><f:XPath xmlns:f=\"$filter\" Filter=\"subtract\">/descendant::ds:Signature</f:XPath></ds:Transform>"
sign xades ecdsa "$(template $EXCLUSIVE http://www.w3.org/2001/04/xmldsig-more#ecdsa-sha256 $SHA256 "$properties" "$(said ecdsa)" "$ENVELOPED" http://www.w3.org/2006/12/xml-c14n11)" "$sheet"
sign path ecdsa "$(template $EXCLUSIVE http://www.w3.org/2001/04/xmldsig-more#ecdsa-sha256 $SHA256 "$properties" "$(said ecdsa)" "$path")" "$sheet"
# One that names another certificate than its own: xmlsec1 does not look there.
sign other-certificate ecdsa "$(template $EXCLUSIVE http://www.w3.org/2001/04/xmldsig-more#ecdsa-sha256 $SHA256 "$properties" "$(said rsa)")"
