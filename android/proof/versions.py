#!/usr/bin/env python3
"""Do the Gradle files agree with the libraries they name, and with what the Maven build beside them tests?

    versions.py              after `mvn package`: says what disagrees, and fails if anything does
    versions.py --self-test  plants disagreements, one at a time, and fails if one is not found
    versions.py --say        for the scripts beside it: the numbers of the Gradle files as shell variables
    versions.py --ships      the AARs of the app, without those of the tests

Held: what each AAR asks of the plugin and of compileSdk (META-INF/com/android/build/gradle/aar-metadata.properties), the least
Android of each AAR's manifest, one version of the plugin, of Kotlin and of every library in both builds, that what ships in the
one ships in the other, and what the plugin itself says of Gradle and of the newest Android it knows."""
import os
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as xml
import zipfile
from pathlib import Path

HERE = Path(__file__).resolve().parent.parent
METADATA = "META-INF/com/android/build/gradle/aar-metadata.properties"
POM = "{http://maven.apache.org/POM/4.0.0}"
NAME = "{http://schemas.android.com/apk/res/android}"
# Only tests use these; they are in the list of AARs and not in the app.
TESTS = ("androidx.test", "androidx.compose.ui:ui-test", "androidx.test.ext", "androidx.test.espresso", "androidx.test.services")


def order(version):
    """1.10 is after 1.9, and a release after its previews; good for comparing, not for showing."""
    numbers, _, preview = version.strip("[]").partition("-")
    return [int(n) for n in re.findall(r"\d+", numbers)] + [0] * (4 - len(re.findall(r"\d+", numbers))), preview == "", preview


def family(group, name):
    """A library of many platforms has a name for each: -android, -jvm. Gradle's is the one without."""
    return group, re.sub(r"-(android|jvm)$", "", name) if group.startswith("androidx.") else re.sub(r"-jvm$", "", name)


class Gradle:
    """What the Gradle files say, read as text: there is no Gradle here."""

    def __init__(self, text):
        bare = {name: re.sub(r"(?m)//.*$", "", told) for name, told in text.items()}
        app, top = bare["app/build.gradle.kts"], bare["build.gradle.kts"]
        self.numbers = {key: int(self.one(rf"\b{key}\s*=\s*(\d+)", app)) for key in ("compileSdk", "minSdk", "targetSdk", "versionCode")}
        self.names = {key: self.one(rf'\b{key}\s*=\s*"([^"]+)"', app) for key in ("namespace", "applicationId", "versionName")}
        self.plugins = dict(re.findall(r'id\("([^"]+)"\)\s+version\s+"([^"]+)"', top))
        self.applied = re.findall(r'id\("([^"]+)"\)', app)
        self.classpath = dict(found.rsplit(":", 1) for found in re.findall(r'classpath\("([^"]+)"\)', top))
        values = dict(re.findall(r'val\s+(\w+)\s*=\s*"([^"$]+)"', app))
        self.libraries = {}
        for told in re.findall(r'implementation\("([^"]+)"\)', app):
            group, name, version = re.sub(r"\$(\w+)", lambda m: values[m[1]], told).removesuffix("@aar").split(":")
            self.libraries[family(group, name)] = version
        self.hosted = self.one(r'gradle-version:\s*"([^"]+)"', text["apps.yml"])
        self.abis = re.findall(r'"([^"]+)"', self.one(r"abiFilters\s*\+=\s*listOf\(([^)]*)\)", app))
        self.built = self.one(r"all\) for abi in ([^;]*);", text["native.sh"]).split()
        self.profiles = {name: sorted(set(re.findall(r"--profile (\w+)", text[name]))) for name in ("native.sh", "xcframework.sh", "size.sh")}
        self.native = int(self.one(r"(?m)^api=(\d+)$", text["native.sh"]))

    @staticmethod
    def one(pattern, text):
        found = re.findall(pattern, text)
        if len(found) != 1:
            raise SystemExit(f"versions.py: wanted one {pattern} in the Gradle files, found {len(found)}")
        return found[0]


def poms(text):
    """The properties of the Maven build, and the version of each library that it holds and ships."""
    top = xml.fromstring(text["pom.xml"])
    properties = {p.tag.removeprefix(POM): (p.text or "").strip() for p in top.find(POM + "properties")}

    def told(node, tag):
        return re.sub(r"\$\{([^}]+)\}", lambda m: properties.get(m[1], m[0]), node.findtext(POM + tag, "").strip())

    held = {}
    for file in ("libs/pom.xml", "run/pom.xml"):
        for node in xml.fromstring(text[file]).findall(f"{POM}dependencies/{POM}dependency"):
            group, name = told(node, "groupId"), told(node, "artifactId")
            if told(node, "scope") in ("test", "provided") or group == "hangtrue":
                continue
            if group in TESTS or f"{group}:{name}".startswith(TESTS):
                continue
            held[family(group, name)] = name, told(node, "version")
    return properties, held


def asks(repository, group, name, version):
    """What a library asks for, by its own pom; what it leaves to a table of versions is left out."""
    file = repository / group.replace(".", "/") / name / version / f"{name}-{version}.pom"
    if not file.exists():
        return None
    return list(asked(file))


def asked(file):
    for node in xml.parse(file).getroot().findall(f"{POM}dependencies/{POM}dependency"):
        if node.findtext(POM + "scope", "compile") in ("compile", "runtime") and node.findtext(POM + "optional") != "true":
            wanted = node.findtext(POM + "version")
            if wanted:
                yield family(node.findtext(POM + "groupId"), node.findtext(POM + "artifactId")), wanted


def findings(text, aars, known, repository):
    gradle = Gradle(text)
    properties, held = poms(text)
    plugin, kotlin = gradle.plugins.get("com.android.application", "0"), properties["kotlin.version"]
    least, compiled = gradle.numbers["minSdk"], gradle.numbers["compileSdk"]

    for what, one, other in (
        ("the Android plugin in build.gradle.kts and android.plugin.version in pom.xml", plugin, properties["android.plugin.version"]),
        ("the plugin's tools and android.tools.version in pom.xml", re.sub(r"^\d+", lambda m: str(int(m[0]) + 23), plugin), properties["android.tools.version"]),
        ("Kotlin of the Compose plugin and of pom.xml", gradle.plugins.get("org.jetbrains.kotlin.plugin.compose"), kotlin),
        ("Kotlin of the build and of pom.xml", gradle.classpath.get("org.jetbrains.kotlin:kotlin-gradle-plugin"), kotlin),
        ("minSdk and android.min in pom.xml", str(least), properties["android.min"]),
        ("targetSdk and android.target in pom.xml", str(gradle.numbers["targetSdk"]), properties["android.target"]),
        ("minSdk and the level that native.sh links for", str(least), str(gradle.native)),
        ("the ABIs of abiFilters and of native.sh", gradle.abis, gradle.built),
        ("the profiles that native.sh and bindings/size.sh build", gradle.profiles["native.sh"], gradle.profiles["size.sh"]),
        ("the profiles that ios/xcframework.sh and bindings/size.sh build", gradle.profiles["xcframework.sh"], gradle.profiles["size.sh"]),
    ):
        if one != other:
            yield f"{what} differ: {one}, {other}"
    for own in ("org.jetbrains.kotlin.android", "kotlin-android"):
        if order(plugin) >= order("9.0.0") and (own in gradle.applied or own in gradle.plugins):
            yield f"plugin {plugin} brings its own Kotlin: {own} must not be applied beside it"
    if compiled < gradle.numbers["targetSdk"]:
        yield f"targetSdk {gradle.numbers['targetSdk']} is above compileSdk {compiled}"
    if order(str(compiled)) > order(known["newest"]):
        yield f"compileSdk {compiled} is above {known['newest']}, the newest that plugin {plugin} knows"
    if order(gradle.hosted) < order(known["gradle"]):
        yield f"apps.yml takes Gradle {gradle.hosted}, plugin {plugin} wants {known['gradle']}"

    for aar in aars:
        with zipfile.ZipFile(aar) as packed:
            asked = dict(re.findall(r"(\w+)=(.*?)\s*\n", packed.read(METADATA).decode() + "\n")) if METADATA in packed.namelist() else {}
            uses = xml.fromstring(packed.read("AndroidManifest.xml")).find("uses-sdk")
        if int(asked.get("minCompileSdk", 1)) > compiled:
            yield f"{aar.name} asks for compileSdk {asked['minCompileSdk']}, it is {compiled}"
        if order(asked.get("minAndroidGradlePluginVersion", "1.0.0")) > order(plugin):
            yield f"{aar.name} asks for plugin {asked['minAndroidGradlePluginVersion']}, it is {plugin}"
        if asked.get("coreLibraryDesugaringEnabled", "false") == "true":
            yield f"{aar.name} asks for the desugaring of core libraries, which is off"
        if uses is not None and int(uses.get(NAME + "minSdkVersion", 1)) > least:
            yield f"{aar.name} runs on Android API {uses.get(NAME + 'minSdkVersion')} and newer, minSdk is {least}"

    for (group, name), version in gradle.libraries.items():
        tested = held.get((group, name), ("", "none"))[1]
        if tested != version:
            yield f"{group}:{name} is {version} in build.gradle.kts, {tested} in the poms"

    # what Gradle would bring with these: all that they ask for, at the highest version asked for
    reached, waiting = set(), list(gradle.libraries)
    while waiting:
        key = waiting.pop()
        if key in reached or key not in held:
            continue
        reached.add(key)
        told = asks(repository, key[0], *held[key])
        if told is None:
            yield f"{key[0]}:{key[1]} {held[key][1]} has no pom in Maven's repository here"
        for wanted, version in told or ():
            if wanted not in held:
                yield f"{key[0]}:{key[1]} brings {wanted[0]}:{wanted[1]} {version}, which the poms do not test"
            elif order(version) > order(held[wanted][1]):
                yield f"{key[0]}:{key[1]} brings {wanted[0]}:{wanted[1]} {version}, the poms test {held[wanted][1]}"
            waiting.append(wanted)
    for group, name in sorted(set(held) - reached):
        yield f"{group}:{name} ships in the poms' app and nothing in build.gradle.kts brings it"


def texts():
    files = ("app/build.gradle.kts", "build.gradle.kts", "native.sh", "pom.xml", "libs/pom.xml", "run/pom.xml")
    others = (".github/workflows/apps.yml", "ios/xcframework.sh", "bindings/size.sh")
    return {name: (HERE / name).read_text() for name in files} | {Path(name).name: (HERE.parent / name).read_text() for name in others}


def known_by_plugin():
    said = subprocess.run(["java", "-cp", f"{HERE}/proof/target/tools/*", HERE / "proof/Known.java"], check=True, capture_output=True, text=True).stdout
    return dict(line.split("=", 1) for line in said.splitlines())


def self_test(text, aars, known, repository):
    def swap(file, old, new):
        if old not in text[file]:
            raise SystemExit(f"versions.py: the self-test finds no {old} in {file}")
        return text | {file: text[file].replace(old, new)}

    gradle = Gradle(text)
    plugin, compiled, least = gradle.plugins["com.android.application"], gradle.numbers["compileSdk"], gradle.numbers["minSdk"]
    app, top = "app/build.gradle.kts", "build.gradle.kts"
    cases = [
        (swap(app, f"compileSdk = {compiled}", f"compileSdk = {compiled - 1}"), f"asks for compileSdk {compiled}"),
        (swap(app, f"compileSdk = {compiled}", "compileSdk = 99"), "the newest that plugin"),
        (swap(app, f"minSdk = {least}", "minSdk = 19"), "runs on Android API"),
        (swap(top, f'"{plugin}"', '"8.13.0"'), "asks for plugin"),
        (swap(top, f'"{plugin}"', '"9.0.1"'), "android.plugin.version in pom.xml differ"),
        (swap(app, "plugins {", 'plugins {\n    id("org.jetbrains.kotlin.android")'), "brings its own Kotlin"),
        (swap("pom.xml", "<kotlin.version>", "<kotlin.version>9"), "Kotlin of the build and of pom.xml differ"),
        (swap("pom.xml", "<activity.version>", "<activity.version>9"), "androidx.activity:activity-compose is"),
        (swap(app, "dependencies {", 'dependencies {\n    implementation("invented:library:1.0")'), "invented:library is 1.0"),
        (swap(app, '    implementation("androidx.activity:activity-compose', '    // '), "nothing in build.gradle.kts brings it"),
        (swap("libs/pom.xml", "<artifactId>emoji2<", "<artifactId>emoji9<"), "brings androidx.emoji2:emoji2"),
        (swap("libs/pom.xml", "<artifactId>core-viewtree</artifactId><version>1.0.0", "<artifactId>core-viewtree</artifactId><version>0.9.0"), "the poms test 0.9.0"),
        (swap("native.sh", f"\napi={least}\n", "\napi=21\n"), "native.sh links for"),
        (swap(app, '"armeabi-v7a", ', ""), "the ABIs of abiFilters"),
        (swap("native.sh", "--profile phone", "--profile release"), "that native.sh and bindings/size.sh build"),
        (swap("xcframework.sh", "--profile phone", "--release"), "that ios/xcframework.sh and"),
        (swap("apps.yml", f'"{gradle.hosted}"', '"8.14"'), "wants"),
    ]
    for planted, wanted in cases:
        found = list(findings(planted, aars, known, repository))
        if not any(wanted in one for one in found):
            raise SystemExit(f"versions.py: the self-test planted a disagreement and did not find \"{wanted}\" in {found}")
    with tempfile.TemporaryDirectory() as folder:
        for line, wanted in (("minCompileSdk=99", "asks for compileSdk 99"), ("minAndroidGradlePluginVersion=99.0.0", "asks for plugin 99.0.0"),
                             ("coreLibraryDesugaringEnabled=true", "desugaring"), ("minCompileSdk=1", None)):
            made = Path(folder) / "planted.aar"
            with zipfile.ZipFile(made, "w") as packed:
                packed.writestr(METADATA, line + "\n")
                packed.writestr("AndroidManifest.xml", '<manifest package="planted"/>')
            found = [one for one in findings(text, [made], known, repository) if "planted" in one]
            if (wanted is None) == bool(found) or wanted and wanted not in found[0]:
                raise SystemExit(f"versions.py: the self-test planted {line} and found {found}")
    print(f"versions.py: {len(cases) + 4} planted disagreements, each found (and what agrees passed)")


def main():
    if sys.argv[1:] == ["--say"]:
        gradle = Gradle(texts())
        return print("\n".join(f"{key}='{value}'" for key, value in (gradle.numbers | gradle.names | {"abis": " ".join(gradle.abis)}).items()))
    if sys.argv[1:] == ["--ships"]:
        names = [f"{HERE}/libs/target/aars/{name}-{version}.aar" for name, version in poms(texts())[1].values()]
        return print("\n".join([name for name in names if os.path.exists(name)] + [f"{HERE}/proof/target/parts/jna.aar"]))
    aars = sorted((HERE / "libs/target/aars").glob("*.aar")) + sorted((HERE / "proof/target/parts").glob("*.aar"))
    if len(aars) < 2 or not (HERE / "proof/target/tools").is_dir():
        raise SystemExit("versions.py: run `mvn package` first, it brings the AARs and the plugin's parts")
    text, known = texts(), known_by_plugin()
    repository = Path(os.environ.get("MAVEN_REPOSITORY", Path.home() / ".m2/repository"))
    if sys.argv[1:] == ["--self-test"]:
        return self_test(text, aars, known, repository)
    found = sorted(set(findings(text, aars, known, repository)))
    for one in found:
        print(f"versions.py: {one}")
    if found:
        raise SystemExit(1)
    print(f"versions.py: {len(aars)} AARs, {len(poms(text)[1])} libraries and the Gradle files agree")


main()
