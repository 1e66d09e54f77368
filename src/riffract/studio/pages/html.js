/** The drawing functions of the vendored library, under one roof. */
export {
  Component,
  h,
  html,
  render,
  useEffect,
  useLayoutEffect,
  useMemo,
  useRef,
  useState,
} from "./vendor/preact-htm.js";
