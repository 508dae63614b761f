package record

import "encoding/json"

// What of FHIR R4 (4.0.1) a record uses. Names are the standard's.

type bundle struct {
	ResourceType string  `json:"resourceType"`
	ID           string  `json:"id"`
	Type         string  `json:"type"`
	Timestamp    string  `json:"timestamp,omitempty"`
	Entry        []whole `json:"entry"`
}

type whole struct {
	FullURL  string `json:"fullUrl"`
	Resource any    `json:"resource"`
}

// head begins every resource.
type head struct {
	ResourceType string `json:"resourceType"`
	ID           string `json:"id"`
}

type coding struct {
	System  string `json:"system,omitempty"`
	Code    string `json:"code,omitempty"`
	Display string `json:"display,omitempty"`
}

type concept struct {
	Coding []coding `json:"coding,omitempty"`
	Text   string   `json:"text,omitempty"`
}

type reference struct {
	Reference string `json:"reference,omitempty"`
	Display   string `json:"display,omitempty"`
}

type identifier struct {
	System string `json:"system,omitempty"`
	Value  string `json:"value"`
}

type period struct {
	Start string `json:"start,omitempty"`
	End   string `json:"end,omitempty"`
}

type annotation struct {
	AuthorString string `json:"authorString,omitempty"`
	Time         string `json:"time,omitempty"`
	Text         string `json:"text"`
}

// quantity has a UCUM unit.
type quantity struct {
	Value  json.Number `json:"value"`
	Unit   string      `json:"unit"`
	System string      `json:"system"`
	Code   string      `json:"code"`
}

type humanName struct {
	Text string `json:"text"`
}

type contactPoint struct {
	System string `json:"system"`
	Value  string `json:"value"`
}

type extension struct {
	URL           string      `json:"url"`
	Extension     []extension `json:"extension,omitempty"`
	ValueQuantity *quantity   `json:"valueQuantity,omitempty"`
	ValueInteger  *int        `json:"valueInteger,omitempty"`
	ValueString   string      `json:"valueString,omitempty"`
}

type organization struct {
	head
	Name    string         `json:"name"`
	Telecom []contactPoint `json:"telecom,omitempty"`
}

type practitioner struct {
	head
	Name []humanName `json:"name"`
}

type person struct {
	head
	Identifier           []identifier `json:"identifier"`
	Name                 []humanName  `json:"name,omitempty"`
	BirthDate            string       `json:"birthDate,omitempty"`
	ManagingOrganization *reference   `json:"managingOrganization,omitempty"`
}

type device struct {
	head
	DeviceName []deviceName `json:"deviceName"`
	Owner      *reference   `json:"owner,omitempty"`
}

type deviceName struct {
	Name string `json:"name"`
	Type string `json:"type"`
}

type flag struct {
	head
	Status   string    `json:"status"`
	Category []concept `json:"category,omitempty"`
	Code     concept   `json:"code"`
	Subject  reference `json:"subject"`
	Period   *period   `json:"period,omitempty"`
}

type condition struct {
	head
	Code          concept   `json:"code"`
	Subject       reference `json:"subject"`
	OnsetDateTime string    `json:"onsetDateTime,omitempty"`
}

type carePlan struct {
	head
	Identifier  []identifier       `json:"identifier,omitempty"`
	Replaces    []reference        `json:"replaces,omitempty"`
	Status      string             `json:"status"`
	Intent      string             `json:"intent"`
	Title       string             `json:"title,omitempty"`
	Description string             `json:"description,omitempty"`
	Subject     reference          `json:"subject"`
	Period      *period            `json:"period,omitempty"`
	Created     string             `json:"created,omitempty"`
	Author      *reference         `json:"author,omitempty"`
	Activity    []carePlanActivity `json:"activity,omitempty"`
	Note        []annotation       `json:"note,omitempty"`
}

type carePlanActivity struct {
	Reference reference `json:"reference"`
}

type serviceRequest struct {
	head
	Extension        []extension  `json:"extension,omitempty"`
	Identifier       []identifier `json:"identifier,omitempty"`
	Status           string       `json:"status"`
	Intent           string       `json:"intent"`
	Code             concept      `json:"code"`
	OrderDetail      []concept    `json:"orderDetail,omitempty"`
	Subject          reference    `json:"subject"`
	OccurrencePeriod *period      `json:"occurrencePeriod,omitempty"`
	AuthoredOn       string       `json:"authoredOn,omitempty"`
	Requester        *reference   `json:"requester,omitempty"`
	ReasonCode       []concept    `json:"reasonCode,omitempty"`
	SupportingInfo   []reference  `json:"supportingInfo,omitempty"`
	BodySite         []concept    `json:"bodySite,omitempty"`
	Note             []annotation `json:"note,omitempty"`
}

type encounter struct {
	head
	Identifier      []identifier `json:"identifier,omitempty"`
	Status          string       `json:"status"`
	Class           coding       `json:"class"`
	Type            []concept    `json:"type,omitempty"`
	Subject         reference    `json:"subject"`
	Period          *period      `json:"period,omitempty"`
	ServiceProvider reference    `json:"serviceProvider"`
}

type procedure struct {
	head
	Identifier      []identifier `json:"identifier,omitempty"`
	BasedOn         []reference  `json:"basedOn,omitempty"`
	Status          string       `json:"status"`
	Category        *concept     `json:"category,omitempty"`
	Code            concept      `json:"code"`
	Subject         reference    `json:"subject"`
	Encounter       *reference   `json:"encounter,omitempty"`
	PerformedPeriod *period      `json:"performedPeriod,omitempty"`
	Performer       []performer  `json:"performer,omitempty"`
	Outcome         *concept     `json:"outcome,omitempty"`
	Complication    []concept    `json:"complication,omitempty"`
	Note            []annotation `json:"note,omitempty"`
}

type performer struct {
	Actor reference `json:"actor"`
}

type observation struct {
	head
	PartOf            []reference  `json:"partOf,omitempty"`
	Status            string       `json:"status"`
	Category          []concept    `json:"category,omitempty"`
	Code              concept      `json:"code"`
	Subject           reference    `json:"subject"`
	Encounter         *reference   `json:"encounter,omitempty"`
	EffectiveDateTime string       `json:"effectiveDateTime,omitempty"`
	EffectivePeriod   *period      `json:"effectivePeriod,omitempty"`
	Issued            string       `json:"issued,omitempty"`
	Performer         []reference  `json:"performer,omitempty"`
	ValueQuantity     *quantity    `json:"valueQuantity,omitempty"`
	ValueConcept      *concept     `json:"valueCodeableConcept,omitempty"`
	Note              []annotation `json:"note,omitempty"`
	BodySite          *concept     `json:"bodySite,omitempty"`
	Method            *concept     `json:"method,omitempty"`
	Device            *reference   `json:"device,omitempty"`
	HasMember         []reference  `json:"hasMember,omitempty"`
	Component         []component  `json:"component,omitempty"`
}

type component struct {
	Code          concept   `json:"code"`
	ValueQuantity *quantity `json:"valueQuantity,omitempty"`
	ValueInteger  *int      `json:"valueInteger,omitempty"`
	ValueConcept  *concept  `json:"valueCodeableConcept,omitempty"`
	ValueDateTime string    `json:"valueDateTime,omitempty"`
	Absent        *concept  `json:"dataAbsentReason,omitempty"`
}

type provenance struct {
	head
	Target   []reference `json:"target"`
	Recorded string      `json:"recorded"`
	Activity *concept    `json:"activity,omitempty"`
	Agent    []agent     `json:"agent"`
}

type agent struct {
	Type concept   `json:"type"`
	Who  reference `json:"who"`
}

type codeSystem struct {
	head
	URL         string        `json:"url"`
	Name        string        `json:"name"`
	Title       string        `json:"title"`
	Status      string        `json:"status"`
	Description string        `json:"description"`
	Content     string        `json:"content"`
	Concept     []codeConcept `json:"concept"`
}

type codeConcept struct {
	Code       string `json:"code"`
	Display    string `json:"display"`
	Definition string `json:"definition,omitempty"`
}
