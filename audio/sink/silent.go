package sink

import "time"

// slack is how late a writer may be and still catch up with the silent clock;
// after a longer gap (a halted program, a sleeping computer) the clock counts
// as having stood still, and nothing is raced through.
const slack = 100 * time.Millisecond

// Silent is a device nobody hears: a clock that plays Rate samples a second,
// or a multiple of that, so that a whole session takes exactly as long as its
// samples do, however late single writes were.
type Silent struct {
	speed   float64 // times real time; 0: as fast as samples come
	origin  time.Time
	base    int64 // samples played at origin
	written int64 // samples taken and not dropped
	closed  bool
}

// NewSilent makes a silent device that runs speed times as fast as real time;
// with a speed of 0 every sample counts as heard the moment it is written.
func NewSilent(speed float64) *Silent { return &Silent{speed: speed} }

// Write waits until the clock has made room for the block.
func (s *Silent) Write(block []int16) error {
	if s.closed {
		return errClosed
	}
	if len(block) == 0 {
		return nil
	}
	s.wind()
	s.written += int64(len(block))
	s.until(s.written - Buffer)
	return nil
}

// Delay is how many samples the clock has yet to play.
func (s *Silent) Delay() (int, error) {
	if s.closed {
		return 0, errClosed
	}
	return int(s.written - s.played()), nil
}

// Drop forgets what the clock has yet to play.
func (s *Silent) Drop() (int, error) {
	if s.closed {
		return 0, errClosed
	}
	n := s.written - s.played()
	s.written -= n
	s.origin = time.Time{}
	return int(n), nil
}

// Close lets the clock play what is left.
func (s *Silent) Close() error {
	if !s.closed {
		s.until(s.written)
		s.closed = true
	}
	return nil
}

// wind sets the clock going at its first write, and again where it has been
// dry for longer than the slack.
func (s *Silent) wind() {
	now := time.Now()
	if s.origin.IsZero() || now.Sub(s.due(s.written)) > slack {
		s.origin, s.base = now, s.written
	}
}

// due is when sample n has been played.
func (s *Silent) due(n int64) time.Time {
	if s.speed == 0 {
		return s.origin
	}
	return s.origin.Add(time.Duration(float64(n-s.base) / (Rate * s.speed) * float64(time.Second)))
}

// until waits for sample n to have been played.
func (s *Silent) until(n int64) { time.Sleep(time.Until(s.due(n))) }

// played is how many samples have been heard: what is due, so far as written.
func (s *Silent) played() int64 {
	if s.speed == 0 || s.origin.IsZero() {
		return s.written
	}
	due := s.base + int64(time.Since(s.origin).Seconds()*Rate*s.speed)
	return min(due, s.written)
}
