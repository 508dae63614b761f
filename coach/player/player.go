// Package player turns a session's cues into sound: the one room where coach
// meets audio. The same player plays live, renders offline and makes
// previews.
//
// It owns no device, clock or file. Its sound depends on the programme, the
// presses and the voice alone, never on how the stream is cut into blocks.
// Everything that changes is one value, so that a live player can go back to
// the sample that was heard when a person pressed stop, and act there.
package player

import (
	"math"
	"slices"

	"evenbell/audio"
	"evenbell/coach"
	"evenbell/coach/session"
)

// Patient says who answers when nobody presses.
type Patient string

// The patients of a render.
const (
	// Willing answers every question as a well person would, half a second
	// after its prompt has ended, and presses nothing else.
	Willing Patient = "willing"
	// Absent never presses.
	Absent Patient = "absent"
)

// Config is what a player is made from. It is not changed.
type Config struct {
	Programme *coach.Programme
	Voice     *Speaker
	Start     coach.SessionStartData
	GainDB    float64        // of the station, against its reference level
	CeilingDB *float64       // GainDB and the person's own volume together never pass it; nil for none
	Register  int            // of the pacing sounds, 1 to Registers; anything else is 1
	Patient   Patient        // Absent where a person presses
	Presses   []coach.Press  // in order of At
	Lobby     *session.Lobby // what a station does between sessions, instead of one
	GoOn      *GoOn          // where the power cut it off; nil to begin at the beginning
	Live      bool           // whether it can go back to what was heard
}

// GoOn is where a session goes on that the power cut off.
type GoOn struct {
	Item   int // from 0
	WarmUp bool
}

// session begins the session, or the lobby, of a config.
func (c *Config) session() session.Session {
	if c.Lobby != nil {
		s := session.NewLobby(c.Lobby, c.Voice)
		c.bound(s)
		return *s
	}
	s := session.New(c.Programme, c.Voice, c.Start)
	c.bound(s)
	if c.GoOn != nil {
		s.GoOn(c.GoOn.Item, c.GoOn.WarmUp)
	}
	return *s
}

// bound keeps the person's own volume within what the ceiling lets be heard:
// one step reaches into a ceiling between two, for gain holds it there.
func (c *Config) bound(s *session.Session) {
	if c.CeilingDB != nil {
		s.AtMost(int(math.Ceil(*c.CeilingDB - c.GainDB)))
	}
}

// Player plays one session. It is not safe for concurrent use.
type Player struct {
	cfg Config
	state
	marks  ring          // where to go back to; empty unless live
	hands  []coach.Press // made by hand
	orders []obeyed
	out    session.Output
	buf    []float32
	fresh  Heard
	taken  coach.Samples // everything before it has been taken
	goes   *coach.Next   // what GoesNext said last; nil for nothing
	dry    bool          // makes no sound
}

// state is everything that changes with the position.
type state struct {
	sess    session.Session
	mix     audio.Mixer
	lim     audio.Limiter
	next    int           // in Config.Presses
	handed  int           // of the presses made by hand, how many
	ordered int           // of the orders, how many
	acted   coach.Samples // after the last sample at which something was done by hand
	volume  int           // the session's, as the mixer has it
}

// Heard is what belongs to sound: cues and entries by sample.
type Heard struct {
	Cues    []coach.Cue
	Entries []coach.Entry
}

// blockSize is the most samples mixed at once.
const blockSize = 1024

// New makes a player at sample 0.
func New(cfg Config) *Player {
	p := &Player{cfg: cfg, buf: make([]float32, blockSize)}
	p.sess = cfg.session()
	p.mix.Turn(p.gain())
	p.mix.Settle()
	if cfg.Live {
		p.Mark()
	}
	p.prime()
	return p
}

// prime mixes the samples the limiter sees ahead of its first output.
func (p *Player) prime() { p.through(p.buf[:audio.Lookahead]) }

// Pos is the next sample Render gives.
func (p *Player) Pos() coach.Samples { return coach.Samples(p.mix.Pos()) - audio.Lookahead }

// Session is the session being played, ahead of the sound by the limiter's
// look ahead. It must not be changed.
func (p *Player) Session() *session.Session { return &p.sess }

// Over reports whether everything has been rendered.
func (p *Player) Over() bool { return p.sess.Done() && p.Pos() >= p.sess.End() }

// Lost is how many sounds found no room in the mixer; 0 unless something is
// badly wrong.
func (p *Player) Lost() int { return p.mix.Lost() }

// Render fills block with the next samples and returns how many it gave:
// fewer only at the end of the session.
func (p *Player) Render(block []int16) int {
	n := 0
	for n < len(block) && !p.Over() {
		part := p.buf[:min(len(block)-n, blockSize)]
		p.through(part)
		if p.sess.Done() {
			over := max(0, p.Pos()-p.sess.End())
			part = part[:max(0, len(part)-int(over))]
		}
		audio.PCM(block[n:], part)
		n += len(part)
	}
	return n
}

// Take returns the cues and entries of samples before heard that have not been
// taken yet. They are the caller's, and are never taken back.
func (p *Player) Take(heard coach.Samples) Heard {
	p.taken = max(p.taken, min(heard, p.sess.Pos()+1))
	h := p.fresh.until(heard)
	h = Heard{Cues: slices.Clone(h.Cues), Entries: slices.Clone(h.Entries)}
	p.fresh.Cues = slices.Delete(p.fresh.Cues, 0, len(h.Cues))
	p.fresh.Entries = slices.Delete(p.fresh.Entries, 0, len(h.Entries))
	return h
}

// All is a position after everything.
const All coach.Samples = math.MaxInt64

// through mixes and limits the next len(buf) samples.
func (p *Player) through(buf []float32) {
	p.run(coach.Samples(p.mix.Pos())+coach.Samples(len(buf)), func(to coach.Samples) {
		n := int(to - coach.Samples(p.mix.Pos()))
		p.mix.Mix(buf[:n])
		p.lim.Process(buf[:n])
		buf = buf[n:]
	})
}

// lookOut is how far a session is taken before the patient's next answer is
// looked for again: no answer comes sooner after its question has begun.
var lookOut = coach.SessionRate.At(afterPrompt / 2)

// run takes the session to a sample. Scripted presses and the patient's
// answers fall on their exact samples; mix is called with each sample the
// session has come to, before a press takes effect there.
func (p *Player) run(to coach.Samples, mix func(to coach.Samples)) {
	for {
		next, ok := p.nextPress()
		if at := next.At; !ok || at >= to {
			part := min(to, p.sess.Pos()+lookOut)
			p.advance(part)
			mix(part)
			if part == to {
				return
			}
			continue
		}
		p.advance(next.At)
		mix(next.At)
		p.usePress(next.At)
		p.press(next.Button, next.Heard)
	}
}

// Dry runs the whole session without making sound, as fast as it can, and
// gives its cues and entries and how long it is.
func Dry(cfg Config) (Heard, coach.Samples) {
	p := &Player{cfg: cfg, dry: true}
	p.sess = cfg.session()
	for !p.sess.Done() {
		p.run(p.sess.Pos()+lookOut, func(coach.Samples) {})
	}
	return p.fresh, p.sess.End()
}

func (p *Player) advance(to coach.Samples) {
	p.sess.Advance(to, &p.out)
	p.sound()
}

func (p *Player) press(b coach.Button, heard coach.Samples) {
	p.sess.Press(b, heard, &p.out)
	p.sound()
}

// nextPress is the next press nobody makes by hand: from the script or from
// the patient, whichever comes first.
func (p *Player) nextPress() (coach.Press, bool) {
	now := p.sess.Pos()
	b, at, ok := p.answer(now)
	if p.next < len(p.cfg.Presses) {
		if s := p.cfg.Presses[p.next]; !ok || s.At <= at {
			s.At = max(s.At, now)
			s.Heard = min(s.Heard, s.At)
			return s, true
		}
	}
	return coach.Press{Button: b, At: at, Heard: at}, ok
}

// usePress uses a scripted press up, if the press at that sample was one.
func (p *Player) usePress(at coach.Samples) {
	if p.next < len(p.cfg.Presses) && p.cfg.Presses[p.next].At <= at {
		p.next++
	}
}

// sound makes what the session just did audible and keeps it for Take.
func (p *Player) sound() {
	if !p.dry {
		p.makeAudible()
	}
	p.level()
	p.fresh.Cues = append(p.fresh.Cues, p.out.Cues...)
	p.fresh.Entries = append(p.fresh.Entries, p.out.Entries...)
	p.out.Reset()
}

func (p *Player) makeAudible() {
	for _, at := range p.out.Hush {
		p.mix.Hush(int64(at))
	}
	for i := range p.out.Cues {
		p.play(&p.out.Cues[i])
	}
	if v := p.sess.Volume(); v != p.volume {
		p.volume = v
		p.mix.Turn(p.gain())
	}
}

// gain is the volume as a factor.
func (p *Player) gain() float32 { return float32(math.Pow(10, p.gainDB(p.sess.Volume())/20)) }

// gainDB is how loud a person's own volume is at this station, under the
// clinic's ceiling, in dB against the reference level.
func (p *Player) gainDB(volume int) float64 {
	db := p.cfg.GainDB + float64(volume)
	if p.cfg.CeilingDB != nil {
		db = min(db, *p.cfg.CeilingDB)
	}
	return db
}

// level makes what the log says was said as loud as it is here: the session
// knows the person's own volume alone.
func (p *Player) level() {
	for i := range p.out.Entries {
		if d, ok := p.out.Entries[i].Data.(*coach.SaidData); ok {
			d.DB = math.Round(10*p.gainDB(int(d.DB)))/10 + 0 // plus zero: never "-0"
		}
	}
}
