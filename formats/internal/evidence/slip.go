package evidence

// SlipDigit and SlipSwap are how often a slip is one digit that is another one, and two neighbours that are swapped.
const SlipDigit, SlipSwap = slipDigit, slipSwap
