package main

import (
	"os"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// dpkg installs the package, keeps what staff have written when it is
// replaced, and leaves the log behind when it is purged.
func TestInstallReplacePurge(t *testing.T) {
	unshare := peer(t, "unshare")
	peer(t, "dpkg")
	peer(t, "systemd-sysusers")
	if exec.Command(unshare, "--mount", "mount", "-t", "tmpfs", "none", t.TempDir()).Run() != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			t.Fatal("the right to mount is required and not here")
		}
		t.Skip("the right to mount is not here")
	}
	needsGit(t)
	deb := built(t, project, "amd64")[0]
	out, err := exec.Command(unshare, "--mount", "sh", "testdata/install.sh", deb, t.TempDir()).CombinedOutput()
	require.NoError(t, err, "%s", out)
	for _, want := range []string{
		"groups: evenbell audio gpio input\n",
		"starts: enabled\n",
		"station version 0.1.0",
		"The new program runs from the next start",
		"kept: # ours\n",
		"log: entry\n",
		"left: .\n",
	} {
		assert.Contains(t, string(out), want)
	}
}
