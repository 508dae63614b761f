package link

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"math/big"
	"net"
	"time"
)

// Key is one end's own key, on the curve P-256, which browsers take, too. The
// zero Key is none.
type Key struct{ private *ecdsa.PrivateKey }

// NewKey makes a key.
func NewKey() (Key, error) {
	k, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return Key{}, fmt.Errorf("making a key: %w", err)
	}
	return Key{k}, nil
}

const keyBlock = "PRIVATE KEY"

// ParseKey reads what PEM wrote.
func ParseKey(text []byte) (Key, error) {
	block, rest := pem.Decode(text)
	if block == nil || block.Type != keyBlock || len(rest) > 0 {
		return Key{}, errors.New("reading a key: not one PEM block called " + keyBlock)
	}
	k, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return Key{}, fmt.Errorf("reading a key: %w", err)
	}
	e, ok := k.(*ecdsa.PrivateKey)
	if !ok || e.Curve != elliptic.P256() {
		return Key{}, errors.New("reading a key: not one on the curve P-256")
	}
	return Key{e}, nil
}

// PEM is the key as PKCS #8 in PEM, to be kept where nobody else reads it.
func (k Key) PEM() []byte {
	der, err := x509.MarshalPKCS8PrivateKey(k.private)
	if err != nil {
		panic("a P-256 key has a PKCS #8 form: " + err.Error())
	}
	return pem.EncodeToMemory(&pem.Block{Type: keyBlock, Bytes: der})
}

// Public is the public key's SubjectPublicKeyInfo in DER.
func (k Key) Public() []byte {
	der, err := x509.MarshalPKIXPublicKey(&k.private.PublicKey)
	if err != nil {
		panic("a P-256 key has a public form: " + err.Error())
	}
	return der
}

// Fingerprint is the fingerprint of the public key.
func (k Key) Fingerprint() string { return Fingerprint(k.Public()) }

// Fingerprint is the SHA-256 of a SubjectPublicKeyInfo in hexadecimal: what a
// key is known by at the other end.
func Fingerprint(public []byte) string {
	sum := sha256.Sum256(public)
	return hex.EncodeToString(sum[:])
}

// Certificate wraps the key in a certificate signed by itself. The link looks
// at nothing in it but the key; dates and hosts (names or addresses) are for
// browsers.
func (k Key) Certificate(from, until time.Time, hosts ...string) (tls.Certificate, error) {
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("making a certificate: %w", err)
	}
	t := &x509.Certificate{SerialNumber: serial, Subject: pkix.Name{CommonName: "evenbell"},
		NotBefore: from, NotAfter: until, KeyUsage: x509.KeyUsageDigitalSignature, BasicConstraintsValid: true,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth}}
	for _, h := range hosts {
		if ip := net.ParseIP(h); ip != nil {
			t.IPAddresses = append(t.IPAddresses, ip)
		} else {
			t.DNSNames = append(t.DNSNames, h)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, t, t, &k.private.PublicKey, k.private)
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("making a certificate: %w", err)
	}
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: k.private}, nil
}

// linkCertificate is the certificate for the link, where no date counts.
func (k Key) linkCertificate() (tls.Certificate, error) {
	return k.Certificate(time.Unix(0, 0), time.Date(9999, 12, 31, 23, 59, 59, 0, time.UTC))
}

// sign signs a SHA-256 for one purpose.
func (k Key) sign(purpose string, sum [sha256.Size]byte) ([]byte, error) {
	digest := signed(purpose, sum)
	sig, err := ecdsa.SignASN1(rand.Reader, k.private, digest[:])
	if err != nil {
		return nil, fmt.Errorf("signing: %w", err)
	}
	return sig, nil
}

// verify checks what sign signed with the key of a public key.
func verify(public []byte, purpose string, sum [sha256.Size]byte, sig []byte) error {
	k, err := x509.ParsePKIXPublicKey(public)
	if err != nil {
		return fmt.Errorf("reading a public key: %w", err)
	}
	e, ok := k.(*ecdsa.PublicKey)
	digest := signed(purpose, sum)
	if !ok || !ecdsa.VerifyASN1(e, digest[:], sig) {
		return errors.New("the signature is not of this key")
	}
	return nil
}

func signed(purpose string, sum [sha256.Size]byte) [sha256.Size]byte {
	return sha256.Sum256(append([]byte("evenbell "+purpose+"\x00"), sum[:]...))
}
