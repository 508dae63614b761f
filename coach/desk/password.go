package desk

import (
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
)

// How much work one guess costs: the second choice of RFC 9106, section 4, for
// machines with little memory to spare.
var argon = struct {
	passes, memory uint32 // memory in KiB
	threads        uint8
}{3, 64 << 10, 4}

const (
	argonSalt = 16
	argonKey  = 32
)

// shortestPassword is in letters. NIST SP 800-63B-4 asks for fifteen where the
// password is all there is (from memory); staff log in on a closed network
// with a limit on tries, so the older eight is too few and this is between.
const shortestPassword = 12

const longestPassword = 256

// encodePassword is a new password as it is stored: the algorithm, its
// parameters, salt and hash, so that the parameters may change later.
func encodePassword(password string, random io.Reader) (string, error) {
	if n := utf8.RuneCountInString(password); n < shortestPassword || len(password) > longestPassword {
		return "", refuse("password", "has %d letters; from %d to %d, and a few plain words make a good one", n, shortestPassword, longestPassword)
	}
	salt := make([]byte, argonSalt)
	if _, err := io.ReadFull(random, salt); err != nil {
		return "", fmt.Errorf("making a salt: %w", err)
	}
	key := argon2.IDKey([]byte(password), salt, argon.passes, argon.memory, argon.threads, argonKey)
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, argon.memory, argon.passes, argon.threads,
		base64.RawStdEncoding.EncodeToString(salt), base64.RawStdEncoding.EncodeToString(key)), nil
}

// passwordIs reports whether a password is the one encoded. What was encoded
// otherwise is nobody's password.
func passwordIs(encoded, password string) bool {
	parts := strings.Split(encoded, "$")
	if len(parts) != 6 || parts[0] != "" || parts[1] != "argon2id" || parts[2] != fmt.Sprintf("v=%d", argon2.Version) {
		return false
	}
	var memory, passes uint32
	var threads uint8
	if _, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &memory, &passes, &threads); err != nil || passes == 0 || threads == 0 {
		return false
	}
	salt, err := base64.RawStdEncoding.DecodeString(parts[4])
	if err != nil {
		return false
	}
	want, err := base64.RawStdEncoding.DecodeString(parts[5])
	if err != nil || len(want) == 0 {
		return false
	}
	got := argon2.IDKey([]byte(password), salt, passes, memory, threads, uint32(len(want)))
	return subtle.ConstantTimeCompare(got, want) == 1
}
