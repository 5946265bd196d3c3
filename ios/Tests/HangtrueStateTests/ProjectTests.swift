// What a Mac opens and what the system asks of an app, as far as it can be read without one: the project names nothing that is
// not there, and the words for the camera and the local network are given.
import Foundation
import Testing

private let ios = URL(fileURLWithPath: #filePath).deletingLastPathComponent().deletingLastPathComponent().deletingLastPathComponent()

private func plist(_ path: String) throws -> [String: Any] {
    let data = try Data(contentsOf: ios.appendingPathComponent(path))
    return try #require(PropertyListSerialization.propertyList(from: data, format: nil) as? [String: Any], "\(path) is no property list")
}

private func exists(_ path: String) -> Bool {
    FileManager.default.fileExists(atPath: ios.appendingPathComponent(path).path)
}

struct ProjectTests {
    @Test func theProjectNamesNothingThatIsNotThere() throws {
        let project = try plist("App/Hangtrue.xcodeproj/project.pbxproj")
        let objects = try #require(project["objects"] as? [String: [String: Any]])
        #expect(objects[try #require(project["rootObject"] as? String)]?["isa"] as? String == "PBXProject")
        var named: Set<String> = [try #require(project["rootObject"] as? String)]
        func look(_ value: Any) {
            switch value {
            case let text as String where text.count == 24 && text.hasPrefix("A0000000"):
                #expect(objects[text] != nil, "\(text) is named and not there")
                named.insert(text)
            case let list as [Any]: list.forEach(look)
            case let map as [String: Any]: map.values.forEach(look)
            default: break
            }
        }
        objects.values.forEach { look($0) }
        #expect(named == Set(objects.keys), "what nothing names is not in the project")
        for object in objects.values where object["isa"] as? String == "PBXFileSystemSynchronizedRootGroup" {
            #expect(exists("App/\(try #require(object["path"] as? String))"))
        }
        let files = objects.values.compactMap { ($0["buildSettings"] as? [String: Any])?["INFOPLIST_FILE"] as? String }
        #expect(files.count == 2 && files.allSatisfy { exists("App/\($0)") })
        let scheme = try String(contentsOf: ios.appendingPathComponent("App/Hangtrue.xcodeproj/xcshareddata/xcschemes/Hangtrue.xcscheme"), encoding: .utf8)
        let target = try #require(objects.first { $0.value["isa"] as? String == "PBXNativeTarget" })
        #expect(scheme.contains("BlueprintIdentifier = \"\(target.key)\""))
        // the products of the package that the app takes are those that the package has
        let package = try String(contentsOf: ios.appendingPathComponent("Package.swift"), encoding: .utf8)
        for product in objects.values.compactMap({ $0["productName"] as? String }) where product != "Hangtrue" {
            #expect(package.contains(".library(name: \"\(product)\""))
        }
    }

    @Test func theSystemIsToldWhatTheAppWants() throws {
        let info = try plist("App/Info.plist")
        for key in ["NSCameraUsageDescription", "NSLocalNetworkUsageDescription"] {
            #expect(((info[key] as? String) ?? "").count > 20, "\(key) says why")
        }
        #expect((info["UISupportedInterfaceOrientations"] as? [String])?.count == 3)
        let schemes = (info["CFBundleURLTypes"] as? [[String: Any]])?.compactMap { $0["CFBundleURLSchemes"] as? [String] }
        #expect(schemes == [["hangtrue-label"]])
        let privacy = try plist("App/Hangtrue/PrivacyInfo.xcprivacy")
        #expect(privacy["NSPrivacyTracking"] as? Bool == false)
    }

    @Test func theIconIsOneThatTheCatalogueAndTheStoreTake() throws {
        let project = try String(contentsOf: ios.appendingPathComponent("App/Hangtrue.xcodeproj/project.pbxproj"), encoding: .utf8)
        #expect(project.components(separatedBy: "ASSETCATALOG_COMPILER_APPICON_NAME = AppIcon;").count == 3)
        let folder = ios.appendingPathComponent("App/Hangtrue/Assets.xcassets/AppIcon.appiconset")
        let listed = try JSONSerialization.jsonObject(with: Data(contentsOf: folder.appendingPathComponent("Contents.json")))
        let images = try #require((listed as? [String: Any])?["images"] as? [[String: String]])
        #expect(images.map { $0["size"] } == ["1024x1024"])
        // PNG (W3C), IHDR: width and height, 8 bits a channel, colour type 2, which has no transparent part
        let picture = try Data(contentsOf: folder.appendingPathComponent(try #require(images[0]["filename"])))
        #expect([UInt8](picture[16..<26]) == [0, 0, 4, 0, 0, 0, 4, 0, 8, 2])
    }

    @Test func theWorkflowNamesScriptsThatAreThere() throws {
        let workflow = try String(contentsOf: ios.deletingLastPathComponent().appendingPathComponent(".github/workflows/apps.yml"), encoding: .utf8)
        for script in ["xcframework.sh", "app.sh"] {
            #expect(workflow.contains("ios/\(script)"))
            #expect(FileManager.default.isExecutableFile(atPath: ios.appendingPathComponent(script).path))
        }
    }

    @Test func whatIsCompiledIsWhatIsCommittedInBindings() throws {
        for (link, file) in [("Sources/HangtrueCore/HangtrueCore.swift", "HangtrueCore.swift"), ("Sources/HangtrueCoreFFI/HangtrueCoreFFI.h", "HangtrueCoreFFI.h")] {
            let target = try FileManager.default.destinationOfSymbolicLink(atPath: ios.appendingPathComponent(link).path)
            #expect(target == "../../../bindings/generated/swift/\(file)")
        }
    }
}
