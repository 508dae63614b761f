package coach_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// module is our module path.
const module = "evenbell"

// room says what a folder may import of ours, and why no more.
type room struct {
	may []string // folders; "x/..." takes in everything below x
	why string
}

// rooms are the rules of the house. Test files may import more; what ships
// may not.
var rooms = map[string]room{
	"coach":                   {nil, "the vocabulary depends on nothing, so everything may depend on it"},
	"coach/strict":            {[]string{"coach"}, "reading files strictly is the same for every format"},
	"coach/catalogue":         {[]string{"coach"}, "the exercises are facts of their own"},
	"coach/protocol":          {[]string{"coach", "coach/strict"}, "limits are facts of their own"},
	"coach/plan":              {[]string{"coach", "coach/strict", "coach/catalogue", "coach/protocol"}, "a plan is checked before anything is coached"},
	"coach/tempo":             {[]string{"coach"}, "positions are arithmetic"},
	"coach/session":           {[]string{"coach", "coach/tempo"}, "a session knows no words, sound, file or clock"},
	"coach/script":            {[]string{"coach"}, "words know no sound"},
	"coach/picture":           {[]string{"coach"}, "a picture is drawn from cues and entries alone"},
	"coach/player":            {[]string{"coach", "coach/session", "coach/script", "audio/..."}, "the one place where coach meets audio"},
	"coach/dose":              {[]string{"coach", "coach/protocol"}, "what load comes next is computed from doses and limits"},
	"coach/dose/simulated":    {[]string{"coach", "coach/protocol", "coach/dose"}, "simulated patients try the rules"},
	"coach/screening":         {[]string{"coach", "coach/protocol"}, "screening compares readings with limits"},
	"coach/review":            {[]string{"coach", "coach/dose", "coach/protocol"}, "a review reads entries and nothing else"},
	"coach/circuit":           {[]string{"coach"}, "a timetable is made of durations and constraints"},
	"coach/class":             {[]string{"coach", "coach/strict", "coach/plan", "coach/protocol", "coach/circuit"}, "a class is plans and a timetable"},
	"coach/journal":           {[]string{"coach"}, "the log knows entries, not sessions"},
	"coach/journal/powercut":  {nil, "a disk knows bytes"},
	"coach/link":              {[]string{"coach", "coach/journal"}, "the link carries the log's lines and plans as they are"},
	"coach/link/linktest":     {[]string{"coach", "coach/journal", "coach/link"}, "the other end of the link, for tests"},
	"coach/station":           {[]string{"coach/...", "audio/...", "hardware/...", "sounds"}, "the device assembled"},
	"coach/desk/store":        {[]string{"coach", "coach/journal", "coach/dose", "coach/screening"}, "the store keeps values and decides nothing"},
	"coach/desk/record":       {[]string{"coach", "coach/catalogue", "coach/plan", "coach/protocol", "coach/dose", "coach/screening", "coach/review", "coach/journal", "coach/desk/store"}, "records are made of values, and know no database, page or clock"},
	"coach/desk/gather":       {[]string{"coach", "coach/journal", "coach/plan", "coach/protocol", "coach/desk", "coach/desk/store", "coach/desk/record"}, "it only carries from the desk to its records"},
	"coach/desk/web":          {[]string{"coach", "coach/..."}, "pages know no sound and no hardware, and nothing of who calls them"},
	"coach/desk/web/chart":    {[]string{"coach", "coach/dose", "coach/protocol", "coach/review"}, "a chart is drawn from a reviewed log alone"},
	"coach/desk/web/planform": {[]string{"coach", "coach/plan", "coach/strict"}, "a form knows a plan's text, not what a plan may hold"},
	"coach/desk":              {[]string{"coach", "coach/..."}, "the staff server knows no sound and no hardware"},
	"audio":                   {nil, "sound knows nothing of exercises"},
	"audio/...":               {[]string{"audio/...", "sounds"}, "sound knows nothing of exercises"},
	"hardware/...":            {[]string{"hardware/..."}, "the box knows nothing of sessions"},
	"sounds":                  {nil, "the packs are files"},
	"cmd/...":                 {[]string{"coach/...", "audio/...", "hardware/...", "sounds", "cmd/..."}, "only commands know everyone"},
}

// fits reports whether a folder falls under a rule's name.
func fits(name, folder string) bool {
	if base, below := strings.CutSuffix(name, "/..."); below {
		return folder == base || strings.HasPrefix(folder, base+"/")
	}
	return name == folder
}

// rule finds a folder's rule: its own, or that of the nearest room above it.
// What lives below coach itself needs one of its own.
func rule(folder string) (room, bool) {
	for at := folder; at != "."; at = path.Dir(at) {
		if r, ok := rooms[at]; ok && at == folder {
			return r, true
		}
		if r, ok := rooms[at+"/..."]; ok {
			return r, true
		}
		if r, ok := rooms[at]; ok && at != "coach" {
			return r, true
		}
	}
	return room{}, false
}

// packages lists every folder with Go files, below the top of the house.
func packages(t *testing.T) map[string][]string {
	t.Helper()
	found := map[string][]string{}
	err := filepath.WalkDir("..", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && p != ".." && (strings.HasPrefix(d.Name(), ".") || d.Name() == "testdata" || d.Name() == "node_modules") {
			return filepath.SkipDir
		}
		if !d.IsDir() && strings.HasSuffix(p, ".go") {
			folder, err := filepath.Rel("..", filepath.Dir(p))
			if err != nil {
				return err
			}
			found[filepath.ToSlash(folder)] = append(found[filepath.ToSlash(folder)], p)
		}
		return nil
	})
	require.NoError(t, err)
	return found
}

func TestRoomsImportOnlyWhatTheyMay(t *testing.T) {
	all := packages(t)
	require.Greater(t, len(all), 15, "the house has more rooms than that")
	for folder, files := range all {
		r, ok := rule(folder)
		if !ok {
			t.Errorf("%s: no rule says what it may import; add one to rooms", folder)
			continue
		}
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
			require.NoError(t, err)
			for _, imp := range f.Imports {
				target, err := strconv.Unquote(imp.Path.Value)
				require.NoError(t, err)
				of, ours := strings.CutPrefix(target, module+"/")
				if ours && !slices.ContainsFunc(r.may, func(m string) bool { return fits(m, of) }) {
					t.Errorf("%s imports %s and may not: %s", file, of, r.why)
				}
			}
		}
	}
}

func TestEveryRoomSaysWhatItIsFor(t *testing.T) {
	for folder, files := range packages(t) {
		said, ships := false, false
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			ships = true
			f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ParseComments|parser.PackageClauseOnly)
			require.NoError(t, err)
			said = said || documented(f)
		}
		if ships && !said {
			t.Errorf("%s has no package comment; say what it is for, what it may not know and what it keeps true", folder)
		}
	}
}

func documented(f *ast.File) bool { return f.Doc != nil && len(strings.TrimSpace(f.Doc.Text())) > 40 }

func TestTopLevelIsTheDesigns(t *testing.T) {
	want := []string{"DEVELOPERS.md", "README.md", "audio", "cmd", "coach", "go.mod", "go.sum", "hardware", "sounds", "testdata"}
	var have []string
	entries, err := os.ReadDir("..")
	require.NoError(t, err)
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") {
			have = append(have, e.Name())
		}
	}
	require.Equal(t, want, have)
}
