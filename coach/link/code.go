package link

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"
)

// codeBytes is how long a one-time code is: 80 bits.
const codeBytes = 10

var codeText = base32.StdEncoding.WithPadding(base32.NoPadding)

// NewCode makes a one-time code from random bytes, in the form that people
// type: sixteen base32 characters, four and four.
func NewCode(random io.Reader) (string, error) {
	b := make([]byte, codeBytes)
	if _, err := io.ReadFull(random, b); err != nil {
		return "", fmt.Errorf("making a code: %w", err)
	}
	s := codeText.EncodeToString(b)
	return strings.Join([]string{s[:4], s[4:8], s[8:12], s[12:]}, "-"), nil
}

// errCodeForm is what a code looks like, for who mistyped one.
var errCodeForm = errors.New("not a code; a code has sixteen letters and digits, such as ABCD-EFGH-IJKL-MN23")

// ParseCode reads a code as people type it: in either case, with or without
// dashes and spaces, with 0, 1 and 8 for the letters that look like them. It
// gives the form of NewCode.
func ParseCode(s string) (string, error) {
	s = strings.NewReplacer("-", "", " ", "", "0", "O", "1", "I", "8", "B").Replace(strings.ToUpper(s))
	b, err := codeText.DecodeString(s)
	if err != nil || len(b) != codeBytes {
		return "", errCodeForm
	}
	return strings.Join([]string{s[:4], s[4:8], s[8:12], s[12:]}, "-"), nil
}

const nonceBytes = 32

// Proof is what a device sends to be let in: a MAC that the code keys, over
// both public keys as this end saw them and a nonce.
type Proof struct {
	Nonce string `json:"nonce"` // 32 bytes in hexadecimal
	MAC   string `json:"mac"`
}

// Welcome answers it: the station's name, the shared secret, and a MAC of its
// own over them and what the Proof's is over.
type Welcome struct {
	Name   string `json:"name"`
	Secret string `json:"secret"` // 32 bytes in hexadecimal
	MAC    string `json:"mac"`
}

// keys are the fingerprints of both ends as one of them sees them.
type keys struct{ station, desk string }

func newProof(code string, k keys) (Proof, error) {
	n := make([]byte, nonceBytes)
	if _, err := rand.Read(n); err != nil {
		return Proof{}, fmt.Errorf("making a nonce: %w", err)
	}
	p := Proof{Nonce: hex.EncodeToString(n)}
	p.MAC = mac(code, "station", k, p.Nonce)
	return p, nil
}

// proves reports whether who made the proof knows the code and saw these keys.
func (p Proof) proves(code string, k keys) bool {
	return hmac.Equal([]byte(p.MAC), []byte(mac(code, "station", k, p.Nonce)))
}

func newWelcome(e Enrolment, k keys, p Proof) Welcome {
	w := Welcome{Name: e.Name, Secret: hex.EncodeToString(e.Secret)}
	w.MAC = mac(e.Code, "desk", k, p.Nonce, w.Name, w.Secret)
	return w
}

// proves reports whether the answer is from who knows the code.
func (w Welcome) proves(code string, k keys, p Proof) bool {
	return hmac.Equal([]byte(w.MAC), []byte(mac(code, "desk", k, p.Nonce, w.Name, w.Secret)))
}

// mac is an HMAC-SHA-256 in hexadecimal, each part preceded by its length.
func mac(code, who string, k keys, parts ...string) string {
	m := hmac.New(sha256.New, []byte(code))
	for _, part := range append([]string{"evenbell enrol 1", who, k.station, k.desk}, parts...) {
		fmt.Fprintf(m, "%d:%s", len(part), part)
	}
	return hex.EncodeToString(m.Sum(nil))
}
