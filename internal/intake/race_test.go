//go:build race

package intake

const underRace = true
