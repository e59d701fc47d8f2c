using AutoPlace.Landmarks;
using Xunit;

namespace AutoPlace.Tests.Landmarks;

public sealed class ModelContractTests
{
    [Fact]
    public void Product_and_trainer_write_the_same_contract()
    {
        string trainers = File.ReadAllText(Path.Combine(TestModel.TrainerFolder, "contract.txt"));
        Assert.Equal(trainers, ModelContract.Text);
    }
}
