// The cart: remembers the last quote of the form, and asks the shop's own server to order it.
const button = document.querySelector("#order");
let token = "";
document.addEventListener("shin-wall-quote", (event) => {
  token = event.detail.token;
  button.disabled = false;
});
button.addEventListener("click", async () => {
  button.disabled = true;
  const answer = await fetch("order", { method: "POST", body: token });
  document.querySelector("#ordered").textContent = await answer.text();
});
