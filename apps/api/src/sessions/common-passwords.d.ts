/** The package brings no types. */
declare module 'fxa-common-password-list' {
  const list: { test(password: string): boolean }
  export default list
}
