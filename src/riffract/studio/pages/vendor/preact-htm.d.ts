// What our pages use of the vendored library, for the type checker.
type Child = any;
type Ref<T> = { current: T };
export function h(tag: any, props: object | null, ...children: Child[]): Child;
export function html(strings: TemplateStringsArray, ...values: any[]): Child;
export function render(tree: Child, place: Element): void;
export class Component<Props = any, State = any> {
  props: Props;
  state: State;
  constructor(props?: Props);
  setState(change: Partial<State> | ((before: State) => Partial<State>)): void;
  render(props: Props, state: State): Child;
}
export function createContext<T>(first: T): any;
export function useContext<T>(context: any): T;
export function useState<T>(first: T | (() => T)): [T, (next: T | ((before: T) => T)) => void];
export function useReducer<T, A>(step: (state: T, action: A) => T, first: T): [T, (action: A) => void];
export function useEffect(effect: () => void | (() => void), inputs?: readonly unknown[]): void;
export function useLayoutEffect(effect: () => void | (() => void), inputs?: readonly unknown[]): void;
export function useRef<T>(first: T): Ref<T>;
export function useMemo<T>(make: () => T, inputs?: readonly unknown[]): T;
export function useCallback<T extends (...values: any[]) => any>(call: T, inputs?: readonly unknown[]): T;
