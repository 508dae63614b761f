package review

import (
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
// is the last stop before it on that station, or there is only one person.
func (l *Log) releases(chains []chain) {
	tags := l.Tags()
	for _, c := range chains {
		stopped := ""
		for _, e := range c.entries {
			switch e.Kind {
			case coach.EntryStop:
				stopped = e.Tag
			case coach.EntryRelease:
				l.release(e, stopped, tags)
			}
		}
	}
}

func (l *Log) release(e *coach.Entry, stopped string, tags []string) {
	r := Release{Tag: e.Tag}
	if d, ok := e.Data.(*coach.ReleaseData); ok {
		r.By = d.By
	}
	if e.Wall != nil {
		r.At = e.Wall.In(l.zone)
	}
	if r.Tag == "" {
		r.Tag = stopped
	}
	if r.Tag == "" && len(tags) == 1 {
		r.Tag = tags[0]
	}
	if r.Tag == "" {
		l.Marks = append(l.Marks, "the log does not tell whose stop a release was about")
	}
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
