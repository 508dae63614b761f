package main

import (
	"fmt"
	"os"
	"runtime/debug"

	shared "evenbell/cmd/program"
	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/player"
	"evenbell/coach/protocol"
	"evenbell/coach/station"
)

// prepared is one patient's session, ready to be played.
type prepared struct {
	plan  *plan.Plan
	prog  coach.Programme
	voice *station.Voice
	start coach.SessionStartData
}

// readPlan reads a plan file against the clinic's protocol file, or the
// built-in one where none is named. Warnings come back beside the plan.
func readPlan(file, protocolFile string) (*plan.Plan, []coach.Fault, error) {
	limits := protocol.Default()
	if protocolFile != "" {
		text, err := os.ReadFile(protocolFile)
		if err != nil {
			return nil, nil, failed(fmt.Errorf("reading the protocol: %w", err))
		}
		p, faults := protocol.Read(protocolFile, text)
		if p == nil {
			return nil, nil, invalid(faults)
		}
		limits = p
	}
	name, text := "demo.toml", plan.Demo()
	if file != "" {
		var err error
		if text, err = os.ReadFile(file); err != nil {
			return nil, nil, failed(fmt.Errorf("reading the plan: %w", err))
		}
		name = file
	}
	p, faults := plan.Read(name, text, limits)
	if p == nil {
		return nil, nil, invalid(faults)
	}
	return p, faults, nil
}

// prepare reads a plan and makes one patient's session of it: of the patient
// with that tag, or of the first.
func (p *program) prepare(file, protocolFile, tag, speed string) (*prepared, error) {
	pl, warnings, err := readPlan(file, protocolFile)
	if err != nil {
		return nil, err
	}
	shared.Print(p.stderr, warnings)
	if tag == "" {
		tag = pl.Patients[0].Tag
	}
	prog, err := pl.Resolve(tag, pl.Day)
	if err != nil {
		return nil, failed(err)
	}
	voice, err := station.OpenVoice(pl.Voice)
	if err != nil {
		return nil, failed(err)
	}
	voice.Own(prog.Own)
	return &prepared{plan: pl, prog: prog, voice: voice, start: coach.SessionStartData{
		Plan: pl.Fingerprint(), Protocol: pl.Protocol.Fingerprint(), Voice: voice.Fingerprint(),
		Program: programFingerprint(), Speed: speed}}, nil
}

// config is a player's configuration for the session.
func (s *prepared) config(voice *player.Speaker) player.Config {
	return player.Config{Programme: &s.prog, Voice: voice, Start: s.start}
}

// programFingerprint is the version and, where the build knows it, the
// revision it was built from.
func programFingerprint() string {
	id := "station " + version
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				id += " " + s.Value
			}
		}
	}
	return id
}
