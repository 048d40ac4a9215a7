/* All English words of the pages. One section for each page; add a section of your own. */

export const words = {
  shell: {
    name: "Pushproof",
    skip: "Skip to the content",
    pages: "Pages",
    start: "Soundings",
    push: "Push",
    sun: "Sun",
    night: "Night",
    theme: "Change between the light and the dark theme",
    connected: "connected",
    lost: "no connection to the server",
    watching: "watching only",
    logout: "Log out",
  },
  login: {
    title: "Password",
    explain: "This server asks for a password before it shows or steers anything.",
    password: "Password",
    enter: "Enter",
  },
  start: {
    title: "Soundings",
    name: "sounding",
    file: "file",
    open: "Log of {name}",
    none: "There is no sounding here yet.",
    unread: "Files that could not be read",
  },
};
