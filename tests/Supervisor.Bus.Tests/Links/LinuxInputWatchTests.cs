using System.Runtime.Versioning;
using Supervisor.Bus.Links;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Links;

/// <summary>The wait as Linux has it since 5.11, and as an older system is waited on.</summary>
[SupportedOSPlatform("linux")]
public sealed class LinuxInputWatchTests : IDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);

    private readonly LinuxMonotonicClock _clock = new();
    private readonly PseudoTerminal _line = PseudoTerminal.Open();

    public void Dispose() => _line.Dispose();

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Wait_NothingComes_EndsNotBeforeItsTime(bool asOnAnOldSystem)
    {
        using var terminal = LinuxTerminal.Open(_line.Device, Lines.Usual).Descriptor!;
        using var watch = LinuxInputWatch.Of(terminal, asOnAnOldSystem)!;
        foreach (var microseconds in (int[])[0, 60, 1_500, 12_000])
        {
            var longest = TimeSpan.FromMicroseconds(microseconds);
            var begun = _clock.Now;

            Assert.Equal(InputSight.None, watch.Wait(longest));

            Assert.True(_clock.Now - begun >= longest, $"{microseconds} us");
        }
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Wait_BytesThenAHangUp_TellsEachOnce(bool asOnAnOldSystem)
    {
        using var terminal = LinuxTerminal.Open(_line.Device, Lines.Usual).Descriptor!;
        using var watch = LinuxInputWatch.Of(terminal, asOnAnOldSystem)!;

        _line.Far.Write([1, 2, 3], _clock.Now + Patience);
        Assert.Equal(InputSight.Input, watch.Wait(Patience));
        Assert.Equal(InputSight.None, watch.Wait(TimeSpan.Zero));
        Assert.Equal(InputSight.None, watch.Wait(TimeSpan.FromMilliseconds(1)));

        _line.Far.Dispose();
        Assert.Equal(InputSight.HungUp, watch.Wait(Patience));
    }
}
