// All tabs of one browser share its sign-in. When that ends in one of them (it became a station, or she signed out), no
// other tab may go on showing names: each asks for its first page anew. A page that is sending photos shows none, and
// stays: it waits for the next sign-in and goes on.
const CHANNEL = "portfolio-sign-in";

export function tellOthers() {
  new BroadcastChannel(CHANNEL).postMessage("ended");
}

export function wakeTabs() {
  if (document.querySelector("[data-signed-out]")) tellOthers();
  if (!document.querySelector(".cabinet")) return;
  new BroadcastChannel(CHANNEL).addEventListener("message", () => {
    if (!document.querySelector("#add[data-busy]")) location.replace("/");
  });
}
