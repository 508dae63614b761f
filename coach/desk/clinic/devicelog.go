package clinic

import (
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"time"

	"evenbell/coach"
	"evenbell/coach/journal"
)

// DeviceLog is the log of an invented station: numbered, dated and chained as
// a real one is.
type DeviceLog struct {
	r        *rand.Rand
	epoch    string
	boot     string
	seq      int64
	hash     journal.Hash
	started  time.Time
	previous coach.StartData
}

// NewDeviceLog is the log of a station that was never on.
func NewDeviceLog(r *rand.Rand) *DeviceLog { return &DeviceLog{r: r} }

// Boot turns the station on: a new epoch that names the one before.
func (d *DeviceLog) Boot(at time.Time) ([]journal.Record, error) {
	if d.seq > 0 {
		d.previous = coach.StartData{PreviousEpoch: d.epoch, PreviousSeq: d.seq, PreviousHash: d.hash.String()}
	}
	d.epoch, d.boot = d.random(16), uuid(d.random(16))
	d.seq, d.hash, d.started = 0, journal.Hash{}, at
	previous := d.previous
	return d.Add("", at, coach.Entry{Kind: coach.EntryStart, Data: &previous})
}

// Add writes the entries of one session that began at start, each dated by
// its sample.
func (d *DeviceLog) Add(session string, start time.Time, entries ...coach.Entry) ([]journal.Record, error) {
	records := make([]journal.Record, 0, len(entries))
	for _, e := range entries {
		at := start.Add(coach.SessionRate.Duration(e.Sample)).UTC().Truncate(time.Millisecond)
		d.seq++
		e.Epoch, e.Seq, e.Boot, e.Session, e.Wall = d.epoch, d.seq, d.boot, session, &at
		e.MonoNS = int64(at.Sub(d.started)) + int64(30*time.Second)
		line, err := journal.Line(e)
		if err != nil {
			return nil, fmt.Errorf("writing an invented log: %w", err)
		}
		d.hash = d.hash.Next(line)
		records = append(records, journal.Record{Position: journal.Position{Epoch: d.epoch, Seq: d.seq}, Line: line, Hash: d.hash})
	}
	return records, nil
}

// Session invents the id of a session.
func (d *DeviceLog) Session() string { return uuid(d.random(16)) }

func (d *DeviceLog) random(bytes int) string {
	b := make([]byte, bytes)
	for i := range b {
		b[i] = byte(d.r.Uint32())
	}
	return hex.EncodeToString(b)
}

func uuid(h string) string {
	return h[:8] + "-" + h[8:12] + "-4" + h[13:16] + "-a" + h[17:20] + "-" + h[20:32]
}
