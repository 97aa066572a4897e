// A phone's photo has more points than anybody needs to see a seal or a worn tire: a large one is made smaller before
// it is sent. Without script, or where the browser cannot, it is sent as it is.

const LONG_SIDE = 1600;
const LARGE_BYTES = 900_000;
const field = document.querySelector("[data-photo]");
const note = document.getElementById("photo-note");

async function smaller(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const scale = Math.min(1, LONG_SIDE / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(picture.width * scale);
  canvas.height = Math.round(picture.height * scale);
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise((resolve) => { canvas.toBlob(resolve, "image/jpeg", 0.82); });
  return new File([blob], "photo.jpg", { type: "image/jpeg" });
}

field?.addEventListener("change", async () => {
  const file = field.files[0];
  if (!file || file.size <= LARGE_BYTES) return;
  try {
    const made = await smaller(file);
    if (made.size >= file.size) return;
    const chosen = new DataTransfer();
    chosen.items.add(made);
    field.files = chosen.files;
    note.textContent = note.dataset.smaller;
    note.hidden = false;
  } catch {
    // Not a picture the browser can read: the server says so.
  }
});
