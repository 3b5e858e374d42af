package main

import "github.com/spf13/cobra"

// serving adds nothing: a page in a browser has no standard input, and is smaller without it.
func serving(*app, *cobra.Command) {}
