using Supervisor.Configuration.Languages;

namespace Supervisor.Configuration.Tests;

public sealed class LanguageTests
{
    private const string Locales = "/usr/share/i18n/locales";

    /// <summary>Examples of well-formed tags in RFC 5646, appendix A.</summary>
    [Theory]
    [InlineData("de")]
    [InlineData("zh-Hant")]
    [InlineData("zh-cmn-Hans-CN")]
    [InlineData("sr-Latn-RS")]
    [InlineData("sl-rozaj-biske")]
    [InlineData("de-CH-1901")]
    [InlineData("es-419")]
    [InlineData("de-CH-x-phonebk")]
    [InlineData("en-US-u-islamcal")]
    [InlineData("zh-CN-a-myext-x-private")]
    public void IsWellFormed_ExamplesOfTheStandard_AreTaken(string tag) => Assert.True(LanguageTag.IsWellFormed(tag) && LanguageTag.IsKnown(tag));

    /// <summary>Invalid tags of the same appendix (two regions, a lone singleton), and what people write instead of a tag.</summary>
    [Theory]
    [InlineData("de-419-DE")]
    [InlineData("a-DE")]
    [InlineData("de_DE")]
    [InlineData("de-")]
    [InlineData("de-x")]
    [InlineData("")]
    [InlineData("german language")]
    public void IsWellFormed_Others_AreNot(string tag) => Assert.False(LanguageTag.IsWellFormed(tag));

    [Theory]
    [InlineData("dk")]
    [InlineData("cz")]
    [InlineData("jp")]
    [InlineData("uk-UA", true)]
    [InlineData("tlh", true)]
    public void IsKnown_TwoLettersOfNoLanguage_AreNot(string tag, bool known = false) => Assert.Equal(known, LanguageTag.IsKnown(tag));

    /// <summary>Names of the C library's locales, where Debian has installed them.</summary>
    [Fact]
    public void IsKnown_LanguagesOfTheCLibrary_Are()
    {
        Assert.SkipUnless(Directory.Exists(Locales), $"{Locales} is not there");
        string[] languages = [.. Directory.GetFiles(Locales).Select(Path.GetFileName).Where(name => name!.IndexOf('_', StringComparison.Ordinal) == 2).Select(name => name![..2]).Distinct()];

        Assert.True(languages.Length > 100, $"only {languages.Length} languages: too few to prove anything");
        Assert.All(languages, language => Assert.True(LanguageTag.IsKnown(language), language));
    }

    /// <summary>The example of RFC 4647, 3.4: what is looked for, in order.</summary>
    [Fact]
    public void Find_ShortensAsTheStandardDoes()
    {
        const string Wanted = "zh-Hant-CN-x-private1-private2";
        string[] order = ["zh-Hant-CN-x-private1-private2", "zh-Hant-CN-x-private1", "zh-Hant-CN", "zh-Hant", "zh"];

        for (var first = 0; first < order.Length; first++)
        {
            var languages = new LanguageList(["en", .. order[first..].Reverse()]);
            Assert.Equal(order[first], languages.Tags[languages.Find(Wanted)]);
        }

        // Never looked for: the introduction of the private part alone.
        Assert.Equal(0, new LanguageList(["en", "zh-Hant-CN-x"]).Find(Wanted));
    }

    [Theory]
    [InlineData(null, "en")]
    [InlineData("", "en")]
    [InlineData("fr", "en")]
    [InlineData("DE", "de")]
    [InlineData("de-AT", "de")]
    [InlineData("de-CH", "de-ch")]
    [InlineData("d", "en")]
    public void Find_Others_FirstLanguageWhereNoneFits(string? wanted, string found)
    {
        var languages = new LanguageList(["en", "de", "de-ch"]);
        Assert.Equal(found, languages.Tags[languages.Find(wanted)]);
    }
}
