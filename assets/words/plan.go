package words

// Plan, as long as nothing is reckoned there.
const (
	PlanEmpty       = "Nothing is planned here yet."
	PlanEmptyAdvice = "This place will tell the aperture, the number of frames and the step between them before the shot."
)
