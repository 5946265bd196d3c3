// Where calls into the core run. They take as long as a write to the disk, so never where the screens are drawn; and they
// must run in the order of the touches, which a queue promises and tasks of an actor do not.
import Foundation

/// Where calls into the core run: one after the other, in the order of the touches.
public protocol Line: Sendable {
    /// Runs `work` after all that was handed in before, and then `tell` with what it gave, on the thread that draws.
    func run<T: Sendable>(_ work: @escaping @Sendable () -> T, tell: @escaping @MainActor @Sendable (T) -> Void)

    /// Waits until all that was handed in has run, and then runs `work`; what it leaves to tell may come later.
    func finish(_ work: @Sendable () -> Void)
}

/// A queue of its own: the app's line.
public final class OneQueue: Line {
    private let queue = DispatchQueue(label: "hangtrue.core", qos: .userInitiated)

    /// A queue with nothing on it.
    public init() {}

    public func run<T: Sendable>(_ work: @escaping @Sendable () -> T, tell: @escaping @MainActor @Sendable (T) -> Void) {
        queue.async {
            let gave = work()
            DispatchQueue.main.async { MainActor.assumeIsolated { tell(gave) } }
        }
    }

    public func finish(_ work: @Sendable () -> Void) {
        queue.sync(execute: work)
    }
}

/// Runs at once, where it is called, which must be the thread that draws: for tests, and for programs with nothing to draw.
public struct AtOnce: Line {
    /// A line without a queue.
    public init() {}

    public func run<T: Sendable>(_ work: @escaping @Sendable () -> T, tell: @escaping @MainActor @Sendable (T) -> Void) {
        let gave = work()
        MainActor.assumeIsolated { tell(gave) }
    }

    public func finish(_ work: @Sendable () -> Void) {
        work()
    }
}
