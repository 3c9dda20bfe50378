// All tabs of one browser share its sign-in. When that ends in one of them (it became a station, or she signed out), no
// other tab may go on showing names: each asks for its first page anew.
const CHANNEL = "portfolio-sign-in";

export function tellOthers() {
  new BroadcastChannel(CHANNEL).postMessage("ended");
}

export function wakeTabs() {
  if (document.querySelector("[data-signed-out]")) tellOthers();
  if (document.querySelector(".cabinet")) new BroadcastChannel(CHANNEL).addEventListener("message", () => location.replace("/"));
}
