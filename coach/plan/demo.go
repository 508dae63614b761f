package plan

import (
	_ "embed"
	"slices"
)

//go:embed demo.toml
var demo []byte

//go:embed demo-mat.toml
var demoMat []byte

// Demo is a plan file of the built-in chair and wall programme, for an
// invented clinic: approved, without fault or warning.
func Demo() []byte { return slices.Clone(demo) }

// DemoMat is the same of the built-in programme that uses the mat.
func DemoMat() []byte { return slices.Clone(demoMat) }
