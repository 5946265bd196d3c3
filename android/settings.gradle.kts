// The build for phones. It was not run where the rest of this project was made (no Android SDK there): see DEVELOPERS.md.
// What it compiles is compiled, run and turned into dex by the Maven build beside it, over the same source folders.
pluginManagement {
    repositories {
        google()
        mavenCentral()
        gradlePluginPortal()
    }
}
dependencyResolutionManagement {
    repositoriesMode.set(RepositoriesMode.FAIL_ON_PROJECT_REPOS)
    repositories {
        google()
        mavenCentral()
    }
}
rootProject.name = "hangtrue"
include(":app")
