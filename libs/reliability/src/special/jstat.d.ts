/** The little of jStat that tests compare with; the package brings no types. */
declare module 'jstat' {
  interface Distribution {
    cdf(x: number, ...parameters: number[]): number
  }
  const jstat: {
    gamma: Distribution
    normal: Distribution
    chisquare: Distribution
    weibull: Distribution & { inv(p: number, ...parameters: number[]): number }
  }
  export default jstat
}
