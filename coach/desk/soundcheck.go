package desk

import (
	"context"

	"evenbell/coach"
	"evenbell/coach/desk/store"
)

// soundSubject marks the lines of the audit trail about sound checks.
const soundSubject = "sound check"

// What a sound check came to, as the audit trail has it.
const (
	soundHeard   = "the page's alarm was heard in the room"
	soundUnheard = "the page's alarm was not heard in the room"
)

// CheckSound notes whether the alarm of a page was heard in the room, which
// opens a class (RunClass).
func (d *Desk) CheckSound(ctx context.Context, who Actor, heard bool) error {
	if err := who.check(RunClass); err != nil {
		return err
	}
	words := soundUnheard
	if heard {
		words = soundHeard
	}
	return d.audit(ctx, who, RunClass, soundSubject, words)
}

// SoundCheck is whether a page's alarm reached the room, and who says so.
type SoundCheck struct {
	store.AuditLine
	Heard bool
}

// SoundChecked is the newest sound check of a day; nil where there was none
// (RunClass).
func (d *Desk) SoundChecked(ctx context.Context, who Actor, day coach.Day) (*SoundCheck, error) {
	if err := who.check(RunClass); err != nil {
		return nil, err
	}
	zone, err := d.Zone(ctx)
	if err != nil {
		return nil, err
	}
	lines, err := d.store.AuditLines(ctx, store.AuditFilter{Since: dayIn(day, zone), Until: dayIn(day.AddDays(1), zone),
		Action: string(RunClass), Subject: soundSubject, Limit: 1})
	if err != nil || len(lines) == 0 {
		return nil, err
	}
	line := lines[len(lines)-1]
	return &SoundCheck{line, line.Detail == soundHeard}, nil
}
