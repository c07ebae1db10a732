package intake

// CheckRead is for the tests that read by drafts, which are made on top of this package.
var CheckRead = checkRead
