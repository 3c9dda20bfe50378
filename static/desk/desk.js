// Marks that scripts run, and wakes the parts of the page that need one.
document.documentElement.classList.add("scripted");
