package program_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"

	"evenbell/cmd/program"
	"evenbell/coach"
)

func TestHowARunEnds(t *testing.T) {
	fault := coach.Fault{File: "plan.toml", Line: 3, Key: "day", Message: "missing"}
	for _, c := range []struct {
		err    error
		code   int
		stderr string
	}{
		{nil, 0, ""},
		{errors.New("no such flag"), program.ExitUsage, "bell: no such flag\nbell --help says what there is.\n"},
		{program.Failed(errors.New("the disk is full")), program.ExitFailed, "bell: the disk is full\n"},
		{fmt.Errorf("while reading: %w", program.Failed(errors.New("gone"))), program.ExitFailed, "bell: while reading: gone\n"},
		{program.Invalid([]coach.Fault{fault, fault}), program.ExitInvalid, "plan.toml:3: day: missing\nplan.toml:3: day: missing\n"},
		{program.Invalid(nil), program.ExitInvalid, ""},
	} {
		var stderr strings.Builder
		root := &cobra.Command{Use: "bell", SilenceErrors: true, SilenceUsage: true,
			RunE: func(*cobra.Command, []string) error { return c.err }}
		assert.Equal(t, c.code, program.Run(context.Background(), root, nil, &stderr), "%v", c.err)
		assert.Equal(t, c.stderr, stderr.String())
	}
}

func TestFailedKeepsItsCause(t *testing.T) {
	cause := errors.New("cause")
	assert.ErrorIs(t, program.Failed(cause), cause)
}
