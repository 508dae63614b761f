package main

import (
	"fmt"

	"github.com/spf13/pflag"

	"evenbell/coach/player"
	"evenbell/coach/station"
)

// levels are how loud a session is, and in which register its sounds are, as
// station.toml has them for a device.
type levels struct {
	register        int
	volume, ceiling float64
	fl              *pflag.FlagSet
}

func (l *levels) flags(fl *pflag.FlagSet) {
	l.fl = fl
	fl.IntVar(&l.register, "register", 1, fmt.Sprintf("the pitch of the pacing sounds, so that neighbours differ: 1 to %d", player.Registers))
	fl.Float64Var(&l.volume, "volume-db", 0, "how loud, in dB against the reference level")
	fl.Float64Var(&l.ceiling, "ceiling-db", 0, "no louder than that, whatever the person presses, in dB against the reference level; without it no ceiling")
}

func (l *levels) check() error {
	if l.register < 1 || l.register > player.Registers {
		return fmt.Errorf("--register %d: it is from 1 to %d", l.register, player.Registers)
	}
	if !(l.volume >= station.QuietestDB && l.volume <= station.LoudestDB) {
		return fmt.Errorf("--volume-db %v: it is from %v to %v", l.volume, station.QuietestDB, station.LoudestDB)
	}
	if !(l.ceiling >= station.LowestCeilingDB && l.ceiling <= station.LoudestDB) {
		return fmt.Errorf("--ceiling-db %v: it is from %v to %v", l.ceiling, station.LowestCeilingDB, station.LoudestDB)
	}
	return nil
}

func (l *levels) set(cfg *player.Config) {
	cfg.Register, cfg.GainDB = l.register, l.volume
	if l.fl.Changed("ceiling-db") {
		cfg.CeilingDB = &l.ceiling
	}
}
