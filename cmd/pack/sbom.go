package main

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"time"

	"github.com/CycloneDX/cyclonedx-go"
	"github.com/google/uuid"
)

// writeBOM writes a CycloneDX bill of materials: what a binary was made of, as
// the binary itself says.
func (p *pack) writeBOM(w io.Writer, prog program, t target, binary string, linked []module) error {
	content, err := os.ReadFile(binary)
	if err != nil {
		return err
	}
	sum := sha256.Sum256(content)
	bom := cyclonedx.NewBOM()
	bom.SerialNumber = "urn:uuid:" + uuid.NewSHA1(uuid.NameSpaceOID, sum[:]).String()
	top := cyclonedx.Component{BOMRef: prog.packageName, Type: cyclonedx.ComponentTypeApplication,
		Name: prog.packageName, Version: p.version,
		PackageURL: "pkg:deb/evenbell/" + prog.packageName + "@" + p.version + "?arch=" + t.debian,
		Hashes:     &[]cyclonedx.Hash{{Algorithm: cyclonedx.HashAlgoSHA256, Value: hex.EncodeToString(sum[:])}}}
	bom.Metadata = &cyclonedx.Metadata{Timestamp: p.date.Format(time.RFC3339), Component: &top}
	parts, refs := make([]cyclonedx.Component, len(linked)), make([]string, len(linked))
	for i, m := range linked {
		parts[i], refs[i] = component(m), component(m).BOMRef
	}
	bom.Components = &parts
	bom.Dependencies = &[]cyclonedx.Dependency{{Ref: prog.packageName, Dependencies: &refs}}
	return cyclonedx.NewBOMEncoder(w, cyclonedx.BOMFileFormatJSON).SetPretty(true).Encode(bom)
}

func component(m module) cyclonedx.Component {
	url := "pkg:golang/" + m.path + "@" + m.version
	c := cyclonedx.Component{BOMRef: url, Type: cyclonedx.ComponentTypeLibrary, Name: m.path, Version: m.version,
		PackageURL: url, Licenses: &cyclonedx.Licenses{{License: &cyclonedx.License{ID: m.spdx}}}}
	if m.sum != "" {
		c.Properties = &[]cyclonedx.Property{{Name: "go:sum", Value: m.sum}}
	}
	return c
}
