package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	shared "evenbell/cmd/program"
	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
	"evenbell/coach/link/linktest"
)

// ran is what a command line did.
type ran struct {
	code     int
	out, err string
}

func runLine(t *testing.T, args ...string) ran {
	t.Helper()
	var out, err bytes.Buffer
	code := (&program{strings.NewReader(""), &out, &err}).Run(context.Background(), args)
	return ran{code, out.String(), err.String()}
}

// From a code to a plan on a stick, by the command lines alone.
func TestADeviceBecomesADesksStation(t *testing.T) {
	desk := linktest.NewDesk()
	server := linktest.Serve(t, desk)
	data := filepath.Join(t.TempDir(), "data")
	code := desk.Code("Bay 3")

	assert.Equal(t, shared.ExitUsage, runLine(t, "enrol", "--desk", server.URL(), "--code", "ABC", "--data", data).code)
	assert.Equal(t, shared.ExitUsage, runLine(t, "enrol", "--desk", "http://127.0.0.1", "--code", code, "--data", data).code)
	assert.Equal(t, shared.ExitUsage, runLine(t, "enrol", "--desk", server.URL(), "--data", data).code)
	wrong := runLine(t, "enrol", "--desk", server.URL(), "--code", "AAAA-AAAA-AAAA-AAAA", "--data", data)
	assert.Equal(t, shared.ExitFailed, wrong.code)
	assert.Contains(t, wrong.err, "lets nobody in")
	assert.NoDirExists(t, data, "nothing is kept of a refusal")

	bundle := filepath.Join(t.TempDir(), "out.bundle")
	writeLog(t, data)
	early := runLine(t, "journal", "--data", data, "--bundle", bundle)
	assert.Equal(t, shared.ExitFailed, early.code)
	assert.Contains(t, early.err, "not enrolled")

	let := runLine(t, "enrol", "--desk", server.URL(), "--code", code, "--data", data)
	require.Zero(t, let.code, let.err)
	assert.Contains(t, let.out, "as Bay 3")
	assert.Contains(t, let.out, server.Key.Fingerprint())
	again := runLine(t, "enrol", "--desk", server.URL(), "--code", code, "--data", data)
	assert.Equal(t, shared.ExitFailed, again.code)
	id, err := link.ReadIdentity(data)
	require.NoError(t, err, "a refusal leaves what was there")

	carriesItsLog(t, data, bundle, desk)
	takesAPlan(t, data, server, id)
}

func writeLog(t *testing.T, data string) {
	t.Helper()
	j, err := journal.Open(data)
	require.NoError(t, err)
	_, err = j.Append(coach.Entry{Kind: coach.EntryRep, Tag: "K4", Data: &coach.RepData{}}, coach.Entry{Kind: coach.EntryStop, Tag: "K4"})
	require.NoError(t, err)
	require.NoError(t, j.Close())
}

func carriesItsLog(t *testing.T, data, bundle string, desk *linktest.Desk) {
	t.Helper()
	out := runLine(t, "journal", "--data", data, "--bundle", bundle)
	require.Zero(t, out.code, out.err)
	assert.Contains(t, out.err, "3 entries of Bay 3")
	assert.Equal(t, shared.ExitUsage, runLine(t, "journal", "--data", data, "--bundle", bundle, "--jsonl").code)
	f, err := os.Open(bundle)
	require.NoError(t, err)
	defer f.Close()
	b, err := link.ReadBundle(f)
	require.NoError(t, err)
	from, err := desk.Station(context.Background(), b.Key())
	require.NoError(t, err)
	for batch, err := range b.Batches() {
		require.NoError(t, err)
		_, err = desk.Append(context.Background(), from, batch)
		require.NoError(t, err)
	}
	assert.Equal(t, 3, desk.Count())
}

func takesAPlan(t *testing.T, data string, server *linktest.Server, id *link.Identity) {
	t.Helper()
	plan := link.Plan{Version: 2, Text: onePatient()}
	b := link.DeskBundle{Station: id.Key.Fingerprint(), Made: time.Now(), Plan: plan,
		State: link.State{Name: "Bay 3", Plan: plan.Version, PlanHash: plan.Hash(), Holds: []link.Hold{{ID: 1, Tag: "K4"}}}}
	file := filepath.Join(t.TempDir(), "in.bundle")
	write := func(key link.Key) {
		var text bytes.Buffer
		require.NoError(t, link.WriteDeskBundle(&text, key, b))
		require.NoError(t, os.WriteFile(file, text.Bytes(), 0o600))
	}
	stranger, err := link.NewKey()
	require.NoError(t, err)
	write(stranger)
	forged := runLine(t, "plan", "take", file, "--data", data)
	assert.Equal(t, shared.ExitFailed, forged.code)
	assert.Contains(t, forged.err, "another desk")
	write(server.Key)
	took := runLine(t, "plan", "take", file, "--data", data)
	require.Zero(t, took.code, took.err)
	assert.Equal(t, "plan 2 for Bay 3\n1 tag held\n", took.out)
}

// The self-test's line about the link, in words a technician can use.
func TestSelfTestTriesTheLink(t *testing.T) {
	desk := linktest.NewDesk()
	server := linktest.Serve(t, desk)
	dir := t.TempDir()
	config := filepath.Join(dir, "station.toml")
	box := filepath.Join(dir, "box")
	require.NoError(t, os.WriteFile(config, []byte(`format = "station/1"
name = "Bay 3"
data = "`+dir+`"
sink = "silent"
speed = 1000
[buttons]
kind = "keys"
path = "`+box+`"
[desk]
url = "`+server.URL()+`"
`), 0o600))
	line := func() string {
		for l := range strings.Lines(runLine(t, "selftest", "--config", config).out) {
			if strings.HasPrefix(l, "link") {
				return l
			}
		}
		return ""
	}
	assert.Regexp(t, `^link +FAILED +this device is not enrolled`, line())
	require.Zero(t, runLine(t, "enrol", "--desk", server.URL(), "--code", desk.Code("Bay 3"), "--data", dir).code)
	assert.Regexp(t, `^link +ok +https://127.0.0.1:\d+ knows this device as Bay 3; it answered in `, line())
	desk.Revoke("Bay 3")
	assert.Regexp(t, `^link +FAILED +the desk says: this device was shut out`, line())
	server.Kill()
	assert.Regexp(t, `^link +FAILED +dial tcp .*refused`, line())
}
