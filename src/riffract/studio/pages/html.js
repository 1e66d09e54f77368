/** The drawing functions of the vendored library, under one roof. */
export {
  Component,
  createContext,
  h,
  html,
  render,
  useCallback,
  useContext,
  useEffect,
  useLayoutEffect,
  useMemo,
  useReducer,
  useRef,
  useState,
} from "./vendor/preact-htm.js";
