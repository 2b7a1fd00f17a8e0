const state = await (await fetch("/api/state")).json();
document.querySelector("#out").textContent = JSON.stringify(state);
