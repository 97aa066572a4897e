// Offers what the browser knows: its time zone, and a short name made from the club's.

const zone = document.getElementById("id_time_zone");
const own = Intl.DateTimeFormat().resolvedOptions().timeZone;
if (zone && zone.value === "UTC" && [...zone.options].some((option) => option.value === own)) zone.value = own;

const name = document.getElementById("id_name");
const slug = document.getElementById("id_slug");
let isTyped = Boolean(slug.value);
slug.addEventListener("input", () => { isTyped = true; });
name.addEventListener("input", () => {
  if (isTyped) return;
  const plain = name.value.normalize("NFD").replace(/[\u0300-\u036f]/g, "").toLowerCase();
  slug.value = plain.replace(/[^a-z0-9]+/g, "-").replace(/^-+|-+$/g, "").split("-")[0].slice(0, 40);
});
