package judge

// Enough is how many single losses show a share when so many are over the limit.
var Enough = enough
