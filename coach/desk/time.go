package desk

import (
	"time"

	"evenbell/coach"
)

// dayIn is when a day begins in a zone.
func dayIn(day coach.Day, zone *time.Location) time.Time {
	t := day.Time()
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, zone)
}
