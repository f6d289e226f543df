using System.Globalization;

namespace Supervisor.History.Tests.Storms;

/// <summary>
/// A loss of power: every write and sync of a storm is logged, and what a disk may hold after a cut at random instants is made of them. What was written
/// and not synced may be lost, be torn at sectors of 512 bytes, or be kept out of order; the file must open, and no acknowledged fault may be missing.
/// That syncs reach the medium is the disk's own promise: a card that lies about it is not in this model.
/// </summary>
public sealed class PowerCutTests
{
    private const int Faults = 600;

    [Fact]
    public async Task Storm_PowerCutAtRandomInstants_LosesNothingAcknowledged()
    {
        using var shim = await DiskShim.MakeAsync();
        using (var storm = StormProcess.Start(shim.Folder.FullName, 1, Faults, shim.Environment()))
        {
            await storm.EndAsync();
        }

        var (findings, cuts, told) = await PowerCuts.TryAsync(DiskLog.Read(shim.Log), Cuts);

        Assert.Empty(findings);
        Assert.True(told > cuts, $"{told} faults were acknowledged before {cuts} cuts: nothing was tried");
    }

    [Fact]
    public async Task Storm_BytesWritten_AreThoseThatTheSystemGot()
    {
        using var shim = await DiskShim.MakeAsync();
        using (var storm = StormProcess.Start(shim.Folder.FullName, 1, Faults, shim.Environment()))
        {
            await storm.EndAsync();
        }

        var names = new Dictionary<int, string>();
        long got = 0;
        foreach (var operation in DiskLog.Read(shim.Log))
        {
            if (operation.Kind is 'O' or 'A')
            {
                names[operation.File] = operation.Names[0];
            }

            if (operation.Kind == 'O' && operation.Names[0] == "written")
            {
                break;
            }

            got += operation.Kind == 'W' && names[operation.File] is "history.db" or "history.db-wal" ? operation.Data.Length : 0;
        }

        // The making of the empty file is not in it.
        var told = long.Parse(await File.ReadAllTextAsync(Path.Combine(shim.Folder.FullName, "written"), TestContext.Current.CancellationToken), CultureInfo.InvariantCulture);
        TestContext.Current.TestOutputHelper?.WriteLine($"told {told}, got {got}");
        Assert.InRange(told, got - 10_000, got);
    }

    [Fact]
    public async Task Upgrade_PowerCutAtRandomInstants_LeavesTheOldShapeOrTheNew()
    {
        using var shim = await DiskShim.MakeAsync();
        var old = await File.ReadAllBytesAsync(Path.Combine(AppContext.BaseDirectory, "Data", "history-shape1.db"), TestContext.Current.CancellationToken);
        await File.WriteAllBytesAsync(Path.Combine(shim.Folder.FullName, "history.db"), old, TestContext.Current.CancellationToken);
        using (var storm = StormProcess.Start(shim.Folder.FullName, 1, 5, shim.Environment()))
        {
            await storm.EndAsync();
        }

        // The file was there before.
        List<DiskOperation> log =
        [
            new DiskOperation('O', int.MaxValue, 0, "history.db"u8.ToArray()), new DiskOperation('W', int.MaxValue, 0, old), new DiskOperation('S', int.MaxValue, 0, default),
            new DiskOperation('D', -1, 0, default), .. DiskLog.Read(shim.Log),
        ];
        var (findings, _, _) = await PowerCuts.TryAsync(log, Cuts / 2, first: 4, before: 12);

        Assert.Empty(findings);
    }

    /// <summary>The bugs that this is here for: no syncs at all, and a log whose commits are not synced.</summary>
    [Theory]
    [InlineData("")]
    [InlineData("-wal")]
    public async Task Storm_SyncsLeftOut_IsFound(string unsynced)
    {
        using var shim = await DiskShim.MakeAsync();
        using (var storm = StormProcess.Start(shim.Folder.FullName, 1, Faults, shim.Environment(unsynced.Length == 0 ? null : unsynced)))
        {
            await storm.EndAsync();
        }

        var log = DiskLog.Read(shim.Log);
        var (findings, _, _) = await PowerCuts.TryAsync(unsynced.Length == 0 ? [.. log.Where(operation => operation.Kind is not ('S' or 'D'))] : log, 20);

        Assert.Contains(findings, finding => finding.Contains("is not kept", StringComparison.Ordinal));
    }

    private static int Cuts => Environment.GetEnvironmentVariable("SUPERVISOR_LONG") == "1" ? 2_000 : 150;
}
