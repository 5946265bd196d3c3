// The app: its own edge, the shared screens, and the generated Kotlin of the core. Run ../native.sh first: it fills
// src/main/jniLibs, without which the app has no core.
plugins {
    id("com.android.application")
    id("org.jetbrains.kotlin.plugin.compose")
}

android {
    namespace = "hangtrue.app"
    compileSdk = 37

    defaultConfig {
        applicationId = "hangtrue.app"
        minSdk = 26
        targetSdk = 35
        versionCode = 1
        versionName = "1"
        // what native.sh builds; JNA brings libraries for three more, which would be an app without its core
        ndk { abiFilters += listOf("arm64-v8a", "armeabi-v7a", "x86_64") }
    }

    // The key that stores know the app by comes from the environment (in the hosted build, from its secrets). Without it a
    // release is built and not signed.
    val keystore: String? = System.getenv("HANGTRUE_KEYSTORE")
    if (keystore != null) {
        signingConfigs.create("store") {
            storeFile = file(keystore)
            storePassword = System.getenv("HANGTRUE_KEYSTORE_PASSWORD")
            keyAlias = System.getenv("HANGTRUE_KEY")
            keyPassword = System.getenv("HANGTRUE_KEY_PASSWORD")
        }
    }

    sourceSets["main"].kotlin.directories += listOf("../screens/src/main/kotlin", "../../bindings/generated/kotlin")

    compileOptions {
        sourceCompatibility = JavaVersion.VERSION_17
        targetCompatibility = JavaVersion.VERSION_17
    }

    buildTypes {
        release {
            // proven without Gradle by ../proof/shrink.sh
            isMinifyEnabled = true
            proguardFiles(getDefaultProguardFile("proguard-android-optimize.txt"), "keep.pro")
            signingConfig = signingConfigs.findByName("store")
        }
    }

    packaging {
        // kept as files with their own alignment, so that a phone with 16 KB pages maps them straight from the APK
        jniLibs.useLegacyPackaging = false
    }

    lint {
        warningsAsErrors = true
        // versions are held on purpose, in step with pom.xml
        disable += listOf("GradleDependency", "NewerVersionAvailable", "AndroidGradlePluginVersion", "OldTargetApi")
    }
}

kotlin {
    compilerOptions {
        allWarningsAsErrors.set(true)
        jvmTarget.set(org.jetbrains.kotlin.gradle.dsl.JvmTarget.JVM_17)
    }
}

val core = tasks.register("coreIsBuilt") {
    val library = layout.projectDirectory.file("src/main/jniLibs/arm64-v8a/libhangtrue_bindings.so").asFile
    doLast { check(library.exists()) { "No core for phones at $library: run android/native.sh first." } }
}
tasks.named("preBuild") { dependsOn(core) }

dependencies {
    val compose = "1.12.1"
    implementation("androidx.compose.ui:ui:$compose")
    implementation("androidx.compose.foundation:foundation:$compose")
    implementation("androidx.compose.runtime:runtime:$compose")
    implementation("androidx.activity:activity-compose:1.12.4")
    implementation("androidx.core:core-ktx:1.16.0")
    implementation("org.jetbrains.kotlinx:kotlinx-coroutines-android:1.11.0")
    // the library for phones; 5.18.1 is the first with 16 KB pages
    implementation("net.java.dev.jna:jna:5.19.1@aar")
}
