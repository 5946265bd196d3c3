// swift-tools-version: 5.10
// The iOS app's package: the generated face of the core, the state behind the screens, and the screens.
//
// On Linux (and wherever else there is no SwiftUI) the screens are left out and the core is the library that cargo built
// for this machine; check.sh says where it is. On a Mac the core is the XCFramework that xcframework.sh builds.
import PackageDescription

#if os(Linux)
let hasScreens = false
let core: Target = .systemLibrary(name: "HangtrueCoreFFI")
#else
let hasScreens = true
let core: Target = .binaryTarget(name: "HangtrueCoreFFI", path: "build/HangtrueCoreFFI.xcframework")
#endif

#if compiler(>=6.0)
let modes: [SwiftVersion] = [.version("6")]
let strict: [SwiftSetting] = []
#else
let modes: [SwiftVersion] = [.v5]
let strict: [SwiftSetting] = [.enableExperimentalFeature("StrictConcurrency")]
#endif

var products: [Product] = [.library(name: "HangtrueState", targets: ["HangtrueState"])]
var targets: [Target] = [
    core,
    // One file, a link to bindings/generated/swift: what is committed there is what is compiled here.
    .target(name: "HangtrueCore", dependencies: ["HangtrueCoreFFI"]),
    .target(name: "HangtrueState", dependencies: ["HangtrueCore"], swiftSettings: strict),
]
#if compiler(>=6.0)
// They are written for Swift Testing, which comes with Swift 6.
targets.append(.testTarget(name: "HangtrueStateTests", dependencies: ["HangtrueState"]))
#endif
if hasScreens {
    products.append(.library(name: "HangtrueScreens", targets: ["HangtrueScreens"]))
    targets.append(.target(name: "HangtrueScreens", dependencies: ["HangtrueState"], swiftSettings: strict))
}
#if os(Linux) || os(macOS)
// Starts and kills processes, which no phone lets a program do; an app never depends on it.
targets.append(.executableTarget(name: "hangtrue-scenario", dependencies: ["HangtrueCore"], swiftSettings: strict))
#endif

let package = Package(
    name: "Hangtrue",
    platforms: [.iOS(.v17), .macOS(.v14)],
    products: products,
    targets: targets,
    swiftLanguageVersions: modes
)
