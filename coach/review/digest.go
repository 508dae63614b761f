package review

import (
	"cmp"
	"slices"
	"time"

	"evenbell/coach"
)

// Digest is what some entries of a log come to by themselves, while the others
// are not known. It is small, and can be kept as JSON: every field of it and
// below it is exported. Times in it are UTC.
type Digest struct {
	Sessions []*Session
	Releases []Release
	Marks    []Mark           // of the log
	Ends     map[string]int64 // last numbers of epochs, as later epochs know them
}

// DigestOf reads entries, which may come in any order. They are not changed.
// No session may lie partly in these entries and partly in another digest's.
func DigestOf(entries []coach.Entry) Digest {
	d := Digest{Ends: map[string]int64{}}
	for _, of := range epochs(entries) {
		for _, c := range d.untangle(of) {
			d.ends(c)
			d.sessions(c)
			d.releases(c)
		}
	}
	return d
}

// LogOf makes a log of digests, whose sessions become the log's own. It is what
// Read makes of all their entries. Times, and so days, are in the clinic's
// zone; nil is UTC.
func LogOf(zone *time.Location, digests ...Digest) *Log {
	log := &Log{zone: cmp.Or(zone, time.UTC)}
	ends := map[string]int64{}
	for _, d := range digests {
		log.Sessions = append(log.Sessions, d.Sessions...)
		log.Marks = append(log.Marks, d.Marks...)
		for epoch, last := range d.Ends {
			ends[epoch] = last
		}
	}
	for _, s := range log.Sessions {
		s.checkEnd(ends)
		s.in(log.zone)
	}
	log.overlaps()
	for _, s := range log.Sessions {
		s.demote()
	}
	slices.SortStableFunc(log.Sessions, func(a, b *Session) int {
		if a.Start.IsZero() != b.Start.IsZero() {
			return cmp.Compare(b.Start.Unix(), a.Start.Unix()) // the zero time is the smaller: last
		}
		return a.Start.Compare(b.Start)
	})
	tags := log.Tags()
	for _, d := range digests {
		for _, r := range d.Releases {
			log.release(r, tags)
		}
	}
	return log
}

// in puts the session's times into a zone.
func (s *Session) in(zone *time.Location) {
	s.Start, s.End = inZone(s.Start, zone), inZone(s.End, zone)
	for i := range s.Events {
		s.Events[i].At = inZone(s.Events[i].At, zone)
	}
}

// inZone is a time in a zone; one that is not known stays so.
func inZone(t time.Time, zone *time.Location) time.Time {
	if t.IsZero() {
		return t
	}
	return t.In(zone)
}
