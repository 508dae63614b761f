package lines

import "bytes"

// longest is how much of a line is kept: more than any control's name, with
// room for what a log should show of a wrong one.
const longest = 64

// splitter cuts bytes into lines, however they arrive.
type splitter struct {
	line []byte // of the line that has begun, at most longest
}

// feed takes more bytes, and gives each line that they end.
func (s *splitter) feed(b []byte, line func(string)) {
	for {
		head, tail, ended := bytes.Cut(b, []byte{'\n'})
		s.line = append(s.line, head[:min(len(head), longest-len(s.line))]...)
		if !ended {
			return
		}
		s.end(line)
		b = tail
	}
}

// end gives what the last line has, though nothing ended it.
func (s *splitter) end(line func(string)) {
	line(string(s.line))
	s.line = s.line[:0]
}
