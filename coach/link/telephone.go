package link

import (
	"crypto/hmac"
	"crypto/sha1"
	"crypto/sha256"
	"encoding/binary"

	"evenbell/coach"
)

// TelephonePresses is how many presses a telephone code has: one of four
// controls each, 65,536 codes in all.
const TelephonePresses = 8

// TelephoneAhead is how many counters past the next one a station tries, for
// codes that were told and never pressed.
const TelephoneAhead = 5

// telephoneButtons are the controls of a code, in the order of their digits.
var telephoneButtons = [4]coach.Button{coach.Minus, coach.Plus, coach.Tap, coach.Hold}

// TelephoneCode is the code that clears a tag on the station that shares the
// secret: a one-time password by counter (HOTP, RFC 4226), its number taken
// to the base of four. The key is worked out for the tag, so that a code told
// for one person clears nobody else. Counters count from 1.
func TelephoneCode(secret []byte, tag string, counter int64) [TelephonePresses]coach.Button {
	of := hmac.New(sha256.New, secret)
	of.Write([]byte("evenbell telephone 1\x00" + tag))
	n := hotp(of.Sum(nil), uint64(counter))
	var code [TelephonePresses]coach.Button
	for i := range code {
		code[len(code)-1-i] = telephoneButtons[n%4]
		n /= 4
	}
	return code
}

// hotp is the 31-bit number of RFC 4226, section 5.3.
func hotp(key []byte, counter uint64) uint32 {
	m := hmac.New(sha1.New, key)
	m.Write(binary.BigEndian.AppendUint64(nil, counter))
	sum := m.Sum(nil)
	at := sum[len(sum)-1] & 0xf
	return binary.BigEndian.Uint32(sum[at:]) & 0x7fffffff
}
