package screening

// Formulas of physiology, each with its source. Heart rates are in beats a
// minute, pressures in mm[Hg], ages in years.

// RatePressureProduct is heart rate times systolic pressure, a measure of the
// heart's work (textbook definition).
func RatePressureProduct(heartRate, systolic float64) float64 { return heartRate * systolic }

// MeanArterialPressure is the diastolic pressure and a third of the pulse
// pressure (textbook definition, at rest).
func MeanArterialPressure(systolic, diastolic float64) float64 {
	return diastolic + (systolic-diastolic)/3
}

// AgePredictedMax is the old rule of 220 less the age.
func AgePredictedMax(age float64) float64 { return 220 - age }

// AgePredictedMaxTanaka is 208 - 0.7 age (Tanaka).
func AgePredictedMaxTanaka(age float64) float64 { return 208 - 0.7*age }

// BetaBlockedMax is 164 - 0.7 age, for coronary patients under beta blockers
// (Brawner 2004, as quoted by a secondary page).
func BetaBlockedMax(age float64) float64 { return 164 - 0.7*age }

// HeartRateReserve is what lies between rest and maximum; never negative.
func HeartRateReserve(maximum, rest float64) float64 { return max(maximum-rest, 0) }

// Target is the heart rate at a share of the reserve, from 0 to 1, above rest
// (Karvonen).
func Target(maximum, rest, share float64) float64 {
	return rest + share*HeartRateReserve(maximum, rest)
}
