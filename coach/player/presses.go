package player

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"time"

	"evenbell/coach"
)

// longestSession bounds the seconds of a scripted press.
const longestSession = 24 * time.Hour

// ReadPresses reads scripted presses: CSV with the header "seconds,button",
// seconds from the start of the session on the sample clock, where the press
// takes effect. It gives every fault at once; presses come back in order of
// time, those of one time in the order they were written.
func ReadPresses(file string, r io.Reader) ([]coach.Press, []coach.Fault) {
	in := csv.NewReader(r)
	in.FieldsPerRecord = 2
	fault := func(key, format string, args ...any) coach.Fault {
		line, _ := in.FieldPos(0)
		return coach.Fault{File: file, Line: line, Key: key, Message: fmt.Sprintf(format, args...)}
	}
	head, err := in.Read()
	if err != nil || head[0] != "seconds" || head[1] != "button" {
		return nil, []coach.Fault{{File: file, Line: 1, Message: `the first line is "seconds,button"`}}
	}
	var presses []coach.Press
	var faults []coach.Fault
	for {
		row, err := in.Read()
		var broken *csv.ParseError
		switch {
		case errors.Is(err, io.EOF):
			slices.SortStableFunc(presses, func(a, b coach.Press) int { return int(a.At - b.At) })
			return presses, faults
		case errors.As(err, &broken):
			faults = append(faults, coach.Fault{File: file, Line: broken.Line, Message: broken.Err.Error() + "; a line is seconds,button"})
			continue
		case err != nil:
			return nil, append(faults, coach.Fault{File: file, Message: err.Error()})
		}
		at, err := seconds(row[0])
		if err != nil {
			faults = append(faults, fault("seconds", "%v", err))
		}
		b, err := coach.ParseButton(row[1])
		if err != nil {
			faults = append(faults, fault("button", "%v", err))
		}
		presses = append(presses, coach.Press{Button: b, At: at, Heard: at})
	}
}

func seconds(s string) (coach.Samples, error) {
	f, err := strconv.ParseFloat(s, 64)
	if err != nil || !(f >= 0 && f <= longestSession.Seconds()) {
		return 0, fmt.Errorf("%q is not a time; give seconds from 0 to %d, such as 412.5", s, int(longestSession.Seconds()))
	}
	return coach.SessionRate.At(time.Duration(f*1e9 + 0.5)), nil
}
