package station

import (
	"strings"
	"time"

	"evenbell/audio/sink"
	"evenbell/coach"
	"evenbell/coach/link"
	"evenbell/coach/strict"
)

// Config is what station.toml says about one device.
type Config struct {
	Name     string
	Data     string // folder of the log
	Plan     string // a plan file; empty where the desk sends plans
	Protocol string // the clinic's own protocol file; empty for the defaults
	Tag      string // coach this tag without asking who it is; empty to ask
	Intro    bool
	Release  []coach.Button // the clinic's own sequence; empty: only the desk releases
	Sink     string
	Speed    float64
	VolumeDB float64
	Ceiling  Ceiling
	Register int            // of the pacing sounds, so that neighbours differ; 1 to player.Registers
	Zone     *time.Location // the clinic's time zone
	Buttons  ButtonsConfig
	Lamps    LampsConfig
	DeskURL  string
}

// The bounds of station.toml that are not clinical.
const (
	shortestRelease = 3 // fewer could be pressed by accident
	longestRelease  = 10
)

// QuietestDB and LoudestDB bound a station's volume, against the reference
// level. common practice, no source.
const QuietestDB, LoudestDB = -40.0, 12.0

// ReadConfig reads station.toml, which came from the file of that name, and
// gives every fault at once. The config is nil where there are any but
// warnings.
func ReadConfig(file string, text []byte) (*Config, []coach.Fault) {
	f := strict.Parse(file, text)
	c := &Config{Sink: "auto", Speed: 1, Intro: true, Register: 1, Zone: time.Local}
	if t := f.Root(); f.Format("station", 1) {
		c.read(t)
	}
	faults := f.Faults()
	if len(coach.Errors(faults)) > 0 {
		return nil, faults
	}
	return c, faults
}

func (c *Config) read(t *strict.Table) {
	c.Name, _ = t.Text("name", strict.Required)
	c.Data, _ = t.Text("data", strict.Required)
	optional(t, "plan", &c.Plan)
	optional(t, "protocol", &c.Protocol)
	optional(t, "tag", &c.Tag)
	if v, ok := t.Bool("intro", strict.Optional); ok {
		c.Intro = v
	}
	c.readRelease(t)
	c.readSound(t)
	c.readLevels(t)
	c.readZone(t)
	if b, ok := t.Table("buttons", strict.Required); ok {
		c.Buttons.read(b)
	}
	if l, ok := t.Table("lamps", strict.Optional); ok {
		c.Lamps.read(l)
	}
	if d, ok := t.Table("desk", strict.Optional); ok {
		optional(d, "url", &c.DeskURL)
		if c.DeskURL != "" {
			if err := link.CheckURL(c.DeskURL); err != nil {
				d.Fault("url", "%v", err)
			}
		}
	}
	if c.Plan != "" && c.DeskURL != "" {
		t.Warn("plan", "names a file, so the desk's plans are not taken; leave it out to coach by them")
	}
	if c.Plan == "" && c.DeskURL == "" {
		t.Warn("plan", "no plan file and no desk: this station will coach nobody")
	}
}

// optional reads a text that may be left out.
func optional(t *strict.Table, key string, into *string) {
	if v, ok := t.Text(key, strict.Optional); ok {
		*into = v
	}
}

func (c *Config) readRelease(t *strict.Table) {
	names, ok := t.Texts("release", strict.Optional)
	if !ok || len(names) == 0 {
		return
	}
	if len(names) < shortestRelease || len(names) > longestRelease {
		t.Fault("release", "has %d controls; from %d to %d, or none to let only the desk release", len(names), shortestRelease, longestRelease)
	}
	for _, n := range names {
		b, err := coach.ParseButton(n)
		if err != nil {
			t.Fault("release", "%v", err)
		} else if b == coach.Stop {
			t.Fault("release", "stop can't be part of it: red always stops; tap, minus, plus and hold can")
		}
		c.Release = append(c.Release, b)
	}
}

func (c *Config) readSound(t *strict.Table) {
	optional(t, "sink", &c.Sink)
	kind, where, named := strings.Cut(c.Sink, ":")
	switch {
	case kind == "wav" && where != "", kind == "alsa" && (!named || where != ""):
	case c.Sink == "auto", c.Sink == "pulse", c.Sink == "silent":
	default:
		t.Fault("sink", "%q is not known; it may be %s", c.Sink, sink.Specs)
	}
	if v, ok := t.Number("speed", strict.Optional); ok {
		c.Speed = v
		if v <= 0 || v > 1e6 {
			t.Fault("speed", "is %v; more than 0 and at most a million", v)
		} else if v != 1 && c.Sink != "silent" && kind != "wav" {
			t.Fault("speed", "is %v; only the silent sink and a WAV file run at another speed than 1", v)
		}
	}
}

func (c *Config) readZone(t *strict.Table) {
	name, ok := t.Text("zone", strict.Optional)
	if !ok {
		return
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.Fault("zone", "%q is no time zone; one such as \"Europe/London\"", name)
		return
	}
	c.Zone = zone
}
