import { useLayoutEffect, useRef } from "../html.js";

/**
 * Keeps a dialog as open as it is to be, over all else.
 *
 * The browser tells of a closed dialog some time later. By then it may be open again for another
 * question, which the news of the first must not take away.
 * @param {boolean} isOpen
 * @param {() => void} onClosed what follows when the person closes it, by Escape for one
 * @returns {{ref: {current: HTMLDialogElement | null}, onClose: () => void}} what the dialog takes
 */
export function useModal(isOpen, onClosed) {
  const ref = useRef(/** @type {HTMLDialogElement | null} */ (null));
  const untold = useRef(0);
  useLayoutEffect(() => {
    const dialog = ref.current;
    if (!dialog || dialog.open === isOpen) return;
    if (isOpen) dialog.showModal();
    else {
      untold.current += 1;
      dialog.close();
    }
  }, [isOpen]);
  const onClose = () => {
    if (untold.current) untold.current -= 1;
    else onClosed();
  };
  return { ref, onClose };
}
