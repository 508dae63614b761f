package dose

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"evenbell/coach"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The pound against an independent library of UCUM units, the npm package
// @lhncbc/ucum-lhc, run by node from the folder that EVENBELL_NPM names (the
// one that holds node_modules).
func TestPoundAgainstUCUM(t *testing.T) {
	node, err := exec.LookPath("node")
	folder := os.Getenv("EVENBELL_NPM")
	_, missing := os.Stat(filepath.Join(folder, "node_modules", "@lhncbc", "ucum-lhc"))
	if err != nil || folder == "" || missing != nil {
		why := "node, or @lhncbc/ucum-lhc in the folder EVENBELL_NPM names, is absent"
		if os.Getenv("EVENBELL_PEERS") == "required" {
			t.Fatal(why)
		}
		t.Skip(why)
	}
	pounds := []int64{1000, 2500, 5000, 12000, 135000, 1}
	script := fmt.Sprintf(`const u = require("@lhncbc/ucum-lhc").UcumLhcUtils.getInstance();
console.log(JSON.stringify(%v.map(m => u.convertUnitTo("[lb_av]", m / 1000, "g").toVal)))`, jsonOf(t, pounds))
	cmd := exec.Command(node, "-e", script)
	cmd.Dir = folder
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	var grams []float64
	require.NoError(t, json.Unmarshal(out, &grams), "%s", out)
	require.Len(t, grams, len(pounds))
	for i, milli := range pounds {
		l := coach.Dumbbell(milli, coach.Pound)
		assert.InEpsilon(t, grams[i], l.Grams(), 1e-12, "%s", l)
		assert.InEpsilon(t, grams[i]*1e8, float64(mass(l)), 1e-12, "%s in units of 10 ng", l)
	}
}

func jsonOf(t *testing.T, v any) string {
	b, err := json.Marshal(v)
	require.NoError(t, err)
	return string(b)
}
