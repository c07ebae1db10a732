// Package seal turns a statement into exactly one byte string, signs it, and
// refuses anything else.
//
// There are three kinds of sealed bytes: the token behind a QR symbol, the CMS
// signature of a PDF file, and the manifest of a revision with its CMS
// signature. Each has one encoding. Every reader here encodes again what it
// has read and compares, so a second way of writing the same thing is refused
// as much as another content is. Signatures are deterministic: the same key
// and statement give the same bytes.
//
// # Token
//
//	text    = [ address "#" ] "SS1." base32   ; the last "#", if the address has more
//	base32  = the COSE message in the alphabet A-Z 2-7 of RFC 4648, section 6,
//	          without padding, unused bits zero
//	message = #6.18([ protected: bstr .cbor header, unprotected: {}, payload: bstr .cbor claim, signature: bstr ])
//
// The message is a tagged COSE_Sign1 (RFC 9052, section 4.2) of at most
// [MaxMessage] bytes. All CBOR is in the core deterministic encoding of RFC
// 8949, section 4.2.1. The signature is over the Sig_structure of RFC 9052,
// section 4.4, with an empty external_aad. The address before "#" is not
// signed; it only tells a telephone where to look.
//
//	header = { 1: -7 / -35 / -37,    ; alg: ES256, ES384 or PS256
//	           4: bstr .size 8 }     ; kid: first 8 bytes of SHA-256(SubjectPublicKeyInfo)
//
//	claim = { ? 1: tstr,             ; certificate number, where it is not the number below
//	        ? 2: 2..65536,           ; revision of the issued set; absent for the first
//	          3: tstr,               ; job number
//	        ? 4: tstr,               ; link; absent for the summary of a job
//	          5: 1..6,               ; pass, marginal, fail, incomplete, conforms, does not conform
//	          6: 1..84005,           ; day of issue, days since 1970-01-01 (RFC 8943)
//	        ? 7: int,                ; days from the latest reading to the day of issue
//	        ? 8: [ 1* reading ],     ; at most 32 insertion losses, by wavelength, then direction, none twice
//	        ? 9: number,             ; smallest margin, dB
//	         10: bstr .size 16 }     ; first half of the SHA-256 of the attached record
//
//	reading = ( 1..9999, exponent, mantissa / null, mantissa / null )  ; nm, and the losses A-B and B-A in dB
//	number  = [ exponent, mantissa ]                 ; mantissa × 10^exponent, as in RFC 8949, 3.4.4
//	exponent = -18..0                                ; as many digits as were written: 0.10 is [-2, 10]
//	mantissa = -(10^18 - 1)..10^18 - 1
//
// Texts are UTF-8, not empty, at most [MaxText] bytes, without control
// characters. No other key may be there. A certificate number that is the job
// number, "/" and the link, or the job number alone where there is no link, is
// left out. So are losses for which the instrument showed no number, but a bound
// or that it could measure no more: the record has them, and what was shown. Losses of one wavelength written with as many digits after the
// point stand in one reading, others in two, A-B first; null stands for a
// direction that is not in the reading. The day of the latest reading is between
// 1970-01-02 and 2199-12-31, as the day of issue is.
//
// With ES256 and ES384 the signature is r and s side by side, as RFC 9053,
// section 2.1 has it: 64 and 96 bytes, which a reader of the text alone checks.
// s is the smaller of the two values that fit, s and n − s. With PS256 the salt
// is 32 bytes (RFC 8230) and the signature as long as the modulus. ES256 is what our own
// keys use. ES384 and PS256 are there for a company's own certificate: a
// token signed with ES384 still fits a 20 mm label, one of RSA with 2048 bits
// just so if its names are short, and one of a longer key not ([MaxLabel]); it
// wants a larger label, and the program says so.
//
// # Signature of a PDF file and of a manifest
//
// A detached CMS SignedData (RFC 5652) in DER with one signer, SHA-256, the
// certificates from the signer's to its issuers', and the signed attributes
// content-type, message-digest and signing-certificate-v2 (RFC 5035, with the
// hash alone, of every certificate in the message), as the baseline profiles of
// ETSI EN 319 122-1 and EN 319 142-1 ask. A manifest's signature also has signing-time; a
// PDF says its time in the signature dictionary. The one unsigned attribute
// that may be there is an RFC 3161 signature time-stamp. The algorithms are
// ecdsa-with-SHA256 on P-256 or P-384, s again the smaller value, and
// sha256WithRSAEncryption with 2048 to 4096 bits.
//
// # Manifest
//
// manifest.json is the JSON of [Manifest]: members in that order, two spaces
// a level, no HTML escapes, a line end at the end, files sorted by path.
// manifest.p7s is its CMS signature. Any CMS program checks it, such as
//
//	openssl cms -verify -binary -inform DER -in manifest.p7s -content manifest.json -CAfile signer.pem -out verified.json
//
// # Renewed time-stamps
//
// Algorithms and certificates of authorities grow old before a warranty ends.
// Beside the revision r1 lies r1.stamps, with 1.sha512 and 1.tsr, 2.sha512 and
// 2.tsr, and so on, the later made before the earlier loses its force.
//
//	list = *( 128 lower-case hex digits, two spaces, path, LF )   ; sorted by path, none twice
//
// A list holds the SHA-512 of every file of the revision, manifest.json and
// manifest.p7s included, and of what lies in r1.stamps with a smaller number.
// Paths are from the folder of revisions ("r1/summary.pdf", "r1.stamps/1.tsr").
// The .tsr beside it is a TimeStampResp (RFC 3161, 2.4.2) with the status
// granted and nothing else, whose token is over the SHA-512 of the list. So a
// stamp vouches for the signatures and stamps before it, and, by another hash,
// for all that they are over. Other programs check it, in the folder of revisions:
//
//	sha512sum -c r1.stamps/1.sha512
//	openssl ts -verify -data r1.stamps/1.sha512 -in r1.stamps/1.tsr -CAfile root.pem
//
// # Keys
//
// A signing key lives in a PKCS#12 file behind a passphrase. Its certificate
// is an end entity's, signed by itself: the key signs documents, and no
// certificates. A key is named by the first 8 bytes of the SHA-256 of its
// SubjectPublicKeyInfo ([KeyID]); the name is a finger post, the signature is
// checked against the whole key.
//
// A key says which one follows it in an attribute certificate (RFC 5755),
// signed by the old key and made once, see [Signer.Successor]:
//
//	version     v2
//	holder      entityName: the subject of the new certificate, and
//	            objectDigestInfo: publicKey, the SHA-256 of its SubjectPublicKeyInfo
//	issuer      v2Form: the subject of the old certificate
//	serial      that of the new certificate, and its validity
//	attributes  role (2.5.4.72): urn:spanseal:successor
//	signature   as in CMS above
//
// It lies in the new certificate, so that it goes wherever that goes: in the
// extension subjectDirectoryAttributes (RFC 5280, 4.2.1.8, not critical), first
// the attribute userCertificate (2.5.4.36) with the old certificate, then
// attributeCertificate (2.5.4.58) with the statement. The new certificate is
// signed by the new key. A reader takes nothing else: see [Predecessor].
//
// Test vectors that another implementation can use stand in testdata/seal.
package seal
