package journal

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"hash/crc32"

	"evenbell/coach"
)

// Hash is a link of the chain over the lines of an epoch. The chain begins
// with the zero Hash.
type Hash [sha256.Size]byte

// Next is the hash after line, which is without its newline.
func (h Hash) Next(line []byte) Hash {
	sum := sha256.New()
	sum.Write(h[:])
	sum.Write(line)
	return Hash(sum.Sum(nil))
}

// String is h in hexadecimal, the form in which a start entry names it.
func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// Position names an entry. The zero Position is before the first.
type Position struct {
	Epoch string
	Seq   int64 // from 1
}

// Record is an entry as the log holds it. Who passes it on passes Line on as
// it is, so that the chain can be checked there.
type Record struct {
	Position
	Line []byte // the form of Line, without a newline
	Hash Hash   // of the chain after this line
}

// Entry reads the record's line.
func (r Record) Entry() (coach.Entry, error) { return ParseAnyLine(r.Line) }

// crc is the checksum that stands beside the record.
func (r Record) crc() uint32 {
	return checksum([]byte(r.Epoch), number(r.Seq), r.Line, r.Hash[:])
}

func number(n int64) []byte { return binary.BigEndian.AppendUint64(nil, uint64(n)) }

// checksum is the CRC-32C (Castagnoli) over the parts, each preceded by its
// length, so that a byte cannot pass from one part to the next.
func checksum(parts ...[]byte) uint32 {
	table := crc32.MakeTable(crc32.Castagnoli)
	var sum uint32
	for _, p := range parts {
		sum = crc32.Update(sum, table, number(int64(len(p))))
		sum = crc32.Update(sum, table, p)
	}
	return sum
}
