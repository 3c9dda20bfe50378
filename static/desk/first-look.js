// Makes a small picture of a photo, so that its cards are read before the photo itself is sent; with it goes the
// beginning of the file, where a camera writes the time.

const LONG_PX = 1600;
const QUALITY = 0.85;
const LEAST_BYTES = 300_000;
const BEGINNING_BYTES = 256 * 1024;

// The two parts to send, or nothing where the browser cannot open the photo.
export async function firstLook(file) {
  try {
    const picture = await createImageBitmap(file);
    const scale = Math.min(1, LONG_PX / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(picture.width * scale));
    canvas.height = Math.max(1, Math.round(picture.height * scale));
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    const look = await new Promise((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
    canvas.width = canvas.height = 0; // a phone has little memory for canvases
    if (!look) return null;
    const body = new FormData();
    body.set("beginning", file.slice(0, BEGINNING_BYTES));
    body.set("look", look);
    return body;
  } catch {
    return null;
  }
}

// A file that is hardly larger than its small picture is there as fast, and only a JPEG says at its beginning what it is.
export const deservesLook = (file) => file.size >= LEAST_BYTES && /\.jpe?g$/i.test(file.name);
