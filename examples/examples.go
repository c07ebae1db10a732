// Package examples holds a small job folder and pictures of real pages. The
// pictures are made by go generate from the demonstration job, so they show
// what the program writes today.
package examples

//go:generate sh pictures.sh
