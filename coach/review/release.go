package review

import (
	"cmp"
	"time"

	"evenbell/coach"
	"evenbell/coach/dose"
)

// Release is staff freeing a station after a stop.
type Release struct {
	Tag string // whose stop it was; empty where the log does not tell
	By  string
	At  time.Time // zero where no clock was trusted
}

// releases finds whose stop each release was about: the entry says so, or it
// is the last stop before it on that station.
func (d *Digest) releases(c chain) {
	stopped := ""
	for _, e := range c.entries {
		switch e.Kind {
		case coach.EntryStop:
			stopped = e.Tag
		case coach.EntryRelease:
			r := Release{Tag: cmp.Or(e.Tag, stopped)}
			if by, ok := e.Data.(*coach.ReleaseData); ok {
				r.By = by.By
			}
			if e.Wall != nil {
				r.At = e.Wall.UTC()
			}
			d.Releases = append(d.Releases, r)
		}
	}
}

// release adds a release. Where there is only one person it was about their
// stop.
func (l *Log) release(r Release, tags []string) {
	if r.Tag == "" && len(tags) == 1 {
		r.Tag = tags[0]
	}
	if r.Tag == "" {
		l.Marks = append(l.Marks, "the log does not tell whose stop a release was about")
	}
	r.At = inZone(r.At, l.zone)
	l.Releases = append(l.Releases, r)
}

// Clearances are the releases that a named person made at a known time, for
// where a release by a supervisor is taken to clear what happened before it.
// A release at the box names nobody and clears nothing.
func (l *Log) Clearances() []dose.Clearance {
	var out []dose.Clearance
	for _, r := range l.Releases {
		if r.By != "" && r.By != ReleasedAtBox && !r.At.IsZero() {
			out = append(out, dose.Clearance{By: r.By, At: r.At})
		}
	}
	return out
}

// ReleasedAtBox is what a release says that was made at the box.
const ReleasedAtBox = "box"
